"""Which record goes out next: numbers over the journal's ring, and what the computer has confirmed."""

WINDOW = 24  # records beyond the last confirmed one
NOWHERE = -1
SILENCE_MS = 3000  # without a confirmation nobody listens


class JournalFeed:
    """Record numbers count every record since reset, also those that were lost."""

    def __init__(self, journal) -> None:  # type: ignore[no-untyped-def]
        self.journal = journal
        self.dropped = 0  # records that the computer has
        self.next = 0  # number of the record to send
        self.confirmed = 0
        self.listens_until = 0
        self.is_listening = False
        self.looked_to = NOWHERE  # place in the journal up to which all that may go has gone

    def oldest(self) -> int:
        """Number of the oldest record that is still here."""
        return self.dropped + self.journal.lost

    def end(self) -> int:
        """Number that the next record will get."""
        return self.dropped + self.journal.lost + self.journal.held()

    def confirm(self, number: int, now: int) -> None:
        """The computer has all before `number` and wants to go on there."""
        oldest = self.oldest()
        end = oldest + self.journal.held()
        if number > end:
            number = end  # of another life of the board; it will see that from the numbers
        if number > oldest:
            self.journal.drop(number - oldest)
            self.dropped += number - oldest
        self.next = self.confirmed = max(number, oldest)
        self.listens_until = now
        self.is_listening = True
        self.looked_to = NOWHERE

    def has_more(self) -> bool:
        """False when due() would find nothing; a quick look."""
        return self.is_listening and self.journal.next != self.looked_to

    def due(self, age_ms: int) -> int:
        """Place in the journal of the record to send now, or -1; age of the last confirmation."""
        if not self.is_listening:
            return -1
        if age_ms > SILENCE_MS:
            self.is_listening = False
            return -1
        oldest = self.oldest()
        if self.next < oldest:
            self.next = oldest
        place = self.next - oldest
        if place >= self.journal.held() or self.next - self.confirmed >= WINDOW:
            self.looked_to = self.journal.next
            return -1
        return place
