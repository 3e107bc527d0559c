"""The walk itself: from step to step, on and back, and every answer kept at once."""

from __future__ import annotations

from reedway.board.walking.answers import Answers, Seen
from reedway.board.walking.findings import Outcome, faults_of, outcome_of
from reedway.board.walking.laps import Lap
from reedway.board.walking.owner import AGAIN, BACK, HELP, QUIT, SKIP, Owner, Turn
from reedway.board.walking.rounds import Rounds
from reedway.board.walking.steps import FEED, INPUT, LAMP, REST, TRAIN, TURNOUT, Step
from reedway.board.walking.wires import Wires

BEGIN = (
    "Coil supply off, track supply off, and a capacitor bank bled: walk says when which one comes on. "
    "Nothing is pulsed or fed before you press Enter for it."
)
HEADS = {
    REST: ("Inputs", ""),
    INPUT: ("Inputs", ""),
    LAMP: ("Lamps", ""),
    TURNOUT: (
        "Turnouts",
        "Now the coil supply on (the track supply stays off). Hands off the coils: a coil that stays on for "
        "seconds burns. If one hums or gets warm, switch the coil supply off at once.",
    ),
    FEED: (
        "Feeds",
        "Take every engine off the track; a 12 V lamp or a meter shows which rail is live. "
        "Now the track supply on.",
    ),
    TRAIN: ("Trains", "Coil supply and track supply on."),
}


class Walk:
    """Asks what has no good answer yet; goes back, repeats and skips as the owner says."""

    def __init__(
        self,
        path: str,
        wires: Wires,
        owner: Owner,
        steps: list[Step],
        answers: Answers,
        only: tuple[str, ...] = (),
    ) -> None:
        self.path = path
        self.only = only  # kinds of steps to ask again, proved or not
        self.wires = wires
        self.owner = owner
        self.steps = steps
        self.answers = answers
        self.rounds = Rounds(wires, owner, steps)
        self._head = ""

    def outcome(self) -> Outcome:
        return outcome_of(self.path, self.steps, self.answers)

    def left(self) -> list[Step]:
        """Steps that are not proved, or those that the owner wants again."""
        if self.only:
            return [step for step in self.steps if step.kind in self.only]
        proved = set(self.outcome().proved)
        return [step for step in self.steps if step.title not in proved]

    def go(self) -> Outcome:
        """To the end, or until the owner quits."""
        left = self.left()
        if len(left) < len(self.steps) and not self.only:
            self.owner.tell(f"{len(self.steps) - len(left)} of {len(self.steps)} are proved from before")
        self.owner.tell(HELP)
        try:
            if left:
                self._agree(BEGIN)
                self._through(left)
        except Turn as turn:
            assert turn.word == QUIT
        return self.outcome()

    def _agree(self, text: str) -> None:
        """A caution is not skipped: Enter, or quit."""
        while True:
            try:
                self.owner.ready(text)
                return
            except Turn as turn:
                if turn.word == QUIT:
                    raise

    def _through(self, left: list[Step]) -> None:
        at = 0
        while at < len(left):
            try:
                self._one(left[at], at, len(left))
                at += 1
            except Turn as turn:
                if turn.word == QUIT:
                    return
                if turn.word == BACK:
                    at = max(0, at - 1)
                elif turn.word == SKIP:
                    at += 1

    def _one(self, step: Step, at: int, count: int) -> None:
        """A step until it is right, or the owner lets it stand."""
        head, caution = HEADS[step.kind]
        if head != self._head:
            self.owner.tell(f"\n{head}")
            if caution:
                self._agree(caution)
            self._head = head
        while True:
            self.owner.tell(f"\n{at + 1}/{count}  {step.title}")
            try:
                seen = self._seen(step)
            except Turn as turn:
                if turn.word == AGAIN:
                    continue
                raise
            self.answers.put(step, seen)
            found = faults_of(self.steps, self.answers, step)
            self.owner.bell(not found)
            if not found:
                self.owner.tell("  right")
                return
            for one in found:
                self.owner.tell(f"  {one.about}: {one.what}; {one.change}")
            self.owner.tell("  Enter: note it and go on; again: try it once more")
            try:
                self.owner.enter("an empty line (Enter) to note it and go on, or again:")
            except Turn as turn:
                if turn.word == AGAIN:
                    continue
                raise
            return

    def _seen(self, step: Step) -> Seen:
        if step.kind == TRAIN:
            return Lap(self.wires, self.owner, self.steps).run(step)
        return self.rounds.do(step)
