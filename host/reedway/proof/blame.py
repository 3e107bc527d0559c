"""Why it comes to this: which rule let the train go or threw the points, and what that rule asks for."""

from __future__ import annotations

from dataclasses import dataclass

from reedlogic import words as w
from reedway.boardfile.rulewords import CompiledRule
from reedway.proof.jam import Jam
from reedway.proof.judge import Verdict
from reedway.proof.misled import Relays, misled
from reedway.proof.rulenames import listed, named, since
from reedway.proof.scene import Scene
from reedway.proof.tracing import THROWS, WANTED, Moment, last_rule
from reedway.proof.world import AGAINST, MEETS, UNDER, World

START_STEP = "at the start"


@dataclass
class Sent:
    """How a train came to leave a place."""

    train: int
    place: int  # section
    left: int  # step in which it left
    step: int = -1  # in which it was let go; -1: no rule did it
    rule: CompiledRule | None = None
    is_stale: bool = False  # it was let go for another train, and its block has not stopped since


class Blame:
    """Looks back through one story. `rules` are those to blame, the likeliest first."""

    def __init__(
        self, scene: Scene, verdict: Verdict, moments: list[Moment], look_for_odd: bool = True
    ) -> None:
        self.scene = scene
        self.moments = moments
        self.track = scene.spots.track
        self.layout = self.track.layout
        self.world: World = scene.world(verdict.lagging)[0]
        self.last = moments[-1].after
        self.world.expand_any(self.last)
        self.kind, self.train, self.section, self.other = self.world.accident
        self.fault = verdict.fault
        self.rules: list[CompiledRule] = []
        self.lines: list[str] = []
        self.look_for_odd = look_for_odd
        self.odd: CompiledRule | None = None  # it keeps one track and throws to another
        self.early: tuple[CompiledRule, int, int] | None = (
            None  # it dropped out this relay (word, mask) early
        )
        self.hint: tuple[str, list[str]] | None = None  # a section, and relays that tell of it
        self._tell_fault()
        if self.kind == MEETS:
            self._meets()
        elif self.kind == AGAINST:
            self._against()
        elif self.kind == UNDER:
            self._under()
        else:
            jam = Jam(scene, self.world, moments)
            self.rules = jam.rules
            self.lines += jam.lines

    def _tell_fault(self) -> None:
        """The step at which the fault comes."""
        for n, moment in enumerate(self.moments):
            told = moment.told
            if self.fault and told is not None and told.is_fault:
                said = f"{told.who} {told.text}".strip()
                said += f", {', '.join(told.notes)}" if told.notes else ""
                self.lines.append(
                    f"The fault comes at step {n} ({said}). All before and after is as it should be."
                )
                return

    # -- looking back -----------------------------------------------------------------------------------

    def name(self, train: int) -> str:
        return self.scene.trains[train]

    def heads(self, n: int, train: int) -> tuple[int, int]:
        """Section of the train's head before and after step n; -1: not on the track."""
        moment = self.moments[n]
        return self._head(moment.before, train), self._head(moment.after, train)

    def _head(self, state: int, train: int) -> int:
        number = self.world.spot_of(state, train)
        return -1 if number == self.world.gone else self.scene.spots.spots[number].path[-1]

    def covers(self, n: int, train: int, section: int) -> bool:
        """Is any of the train in the section after step n?"""
        return bool(self.world.covers[self.world.spot_of(self.moments[n].after, train)] >> section & 1)

    def sent(self, train: int) -> Sent | None:
        """How the train came to leave its last place, or None if it has not left one."""
        for n in range(len(self.moments) - 1, 0, -1):
            before, after = self.heads(n, train)
            if before != after and before >= 0 and self.track.place(before) >= 0:
                found = Sent(train, before, n)
                block = self.track.block(before)
                if block:
                    bit = 1 << [b.name for b in self.layout.blocks].index(block)
                    last = last_rule(self.moments, n, w.OP_SET, w.W_GO, bit)
                    if last is not None:
                        found.step, found.rule = last
                return found
        return None

    def thrown(self, turnout: int, before: int) -> tuple[int, CompiledRule] | None:
        """The last rule before a step that threw a turnout the way it was wanted then."""
        found = [
            last_rule(self.moments, before, op, WANTED, 1 << turnout) for op in (w.OP_THROW_A, w.OP_THROW_B)
        ]
        return max((one for one in found if one is not None), key=lambda one: one[0], default=None)

    # -- two trains -------------------------------------------------------------------------------------

    def _meets(self) -> None:
        self.relays = Relays(self.scene, self.world.lagging)
        found = None if self.fault or not self.look_for_odd else misled(self.relays, self.moments)
        if found is not None:
            rule, step, text = found
            self.odd = rule
            when = f"step {step}" if step else START_STEP
            self.lines.append(f"{_capital(named(rule))} {text}, {when}.")
        trains = [self.train] if self.other < 0 else [self.train, self.other]
        ways = sorted((way for t in trains if (way := self.sent(t))), key=lambda way: (way.step, way.left))
        for way in ways:
            self._tell_sent(way)
            self._tell_led(way)
        if ways and ways[-1].rule is None:
            self._tell_standing([t for t in trains if t != ways[-1].train])
        elif ways and self.odd is None:
            others = [t for t in trains if t != ways[-1].train]
            self._tell_asked(ways[-1], others[0] if others else -1)
        sent = [way.rule for way in reversed(ways) if way.rule is not None]
        self.rules = [*([self.odd] if self.odd is not None else []), *sent, *self.rules]

    def _tell_sent(self, way: Sent) -> None:
        who, place = self.name(way.train), self.track.name(way.place)
        block = self.track.block(way.place)
        if not block:
            text = f"Nothing holds {who} in {place}: that place has no block, so it goes when its rails do."
        elif way.rule is None:
            text = f"No rule let {who} go from {place}: {block} goes from the start on."
        else:
            when = f"step {way.step}" if way.step else START_STEP
            text = f"{who} was let go from {place} by {named(way.rule)}, {when}."
            way.is_stale = self._head(self.moments[way.step].after, way.train) != way.place
            if way.is_stale:
                text = (
                    f"{who} left {place} because {block} still went: {named(way.rule)} had let a train go "
                    f"there ({when}), and no rule has stopped {block} since."
                )
        self.lines.append(text[0].upper() + text[1:])

    def _tell_led(self, way: Sent) -> None:
        """Points that brought it to where it meets the other, and those behind its place."""
        for n in range(way.left, len(self.moments)):
            before, after = self.heads(n, way.train)
            if before == after or before < 0:
                continue
            led = before if self.track.is_facing(before) and after == self.section else -1
            if n == way.left and self.track.is_trailing(after):
                led = after
            found = self.thrown(self.track.turnout(led), n) if led >= 0 else None
            if found is not None and found[1] is not way.rule:
                step = f"step {found[0]}" if found[0] else START_STEP
                self.lines.append(f"{self.track.name(led)} lay so because of {named(found[1])}, {step}.")
                self.rules.append(found[1])

    def _tell_asked(self, way: Sent, other: int) -> None:
        """What the rule asked for, and whether something said so too early."""
        assert way.rule is not None
        where = self.track.name(self.section)
        if way.is_stale:
            return
        asked = {condition.bits[0][:2] for condition in way.rule.conditions}
        names = [name for bits, name in self.relays.in_with(self.section).items() if bits not in asked]
        is_early = other >= 0 and (self.fault or not names)
        early = self._freed_early(way.rule, way.step, other) if is_early else ""
        if early or self.fault:
            self.lines += [early] if early else []
            return
        if other >= 0 and self.covers(way.step, other, self.section):
            what = f"whether {where} is empty"
        else:
            what = f"whether another train is on its way to {where}"
        self.lines.append(f"That rule asks for {self._asked(way.rule, way.step)}. None of it told {what}.")
        if names:
            self.hint = where, names

    def told(self, change: str) -> list[str]:
        """The lines, with the relays that would have told; of these only the one that the change is about."""
        if self.hint is None:
            return self.lines
        where, names = self.hint
        used = [name for name in names if f"`{name} " in change] if change else names
        if not used:
            return self.lines
        were = "was" if len(used) == 1 else "were"
        return [*self.lines, f"Whenever a train was in {where}, {listed(used)} {were} in."]

    def _tell_standing(self, trains: list[int]) -> None:
        """Trains that stood in the way and waited."""
        for train in trains:
            self.lines += Jam(self.scene, self.world, self.moments, [train]).lines

    def _asked(self, rule: CompiledRule, step: int) -> str:
        """What a rule asked for when it acted, and since when that was so."""
        texts = [f"`{c.text}` ({since(self.moments, c, step + 1)})" for c in rule.conditions]
        return listed(texts) if texts else "nothing at all"

    def _freed_early(self, rule: CompiledRule, step: int, other: int) -> str:
        """A relay that the rule asks for was dropped out while the other train was still there."""
        for condition in rule.conditions:
            word, mask, value = condition.bits[0]
            if word >= w.W_RELAY + 4:
                continue
            op = w.OP_SET if value else w.OP_CLEAR
            found = last_rule(self.moments, step + 1, op, word, mask)
            if found is None or found[1] is rule or found[1] in self.rules:
                continue
            n, freed = found
            stays = all(self.covers(k, other, self.section) for k in range(n, len(self.moments)))
            if stays and not value:
                self.rules.append(freed)
                self.early = freed, word, mask
                return (
                    f"That rule asks for `{condition.text}`. {_capital(named(freed))} "
                    f"had dropped it out (step {n}) with {self.name(other)} still in "
                    f"{self.track.name(self.section)}; it asks for {self._asked(freed, n - 1)}."
                )
        return ""

    # -- points -----------------------------------------------------------------------------------------

    def _against(self) -> None:
        way = self.sent(self.train)
        if way is not None:
            self._tell_sent(way)
        self._tell_thrown()
        if way is not None and way.rule is not None:
            self.rules.append(way.rule)

    def _under(self) -> None:
        self._tell_thrown(f"Nothing in it tells whether {self.track.name(self.section)} is empty")
        way = self.sent(self.train) if self.train >= 0 else None
        if way is not None:
            self._tell_sent(way)
            if way.rule is not None:
                self.rules.append(way.rule)

    def _tell_thrown(self, tail: str = "") -> None:
        """The rule that threw the points; without a `tail` a train comes while their pulse is outstanding."""
        name = self.track.name(self.section)
        found = self.thrown(self.other, len(self.moments)) if self.other >= 0 else None
        if found is None:
            self.lines.append(f"No rule has thrown {name}; nobody knows how it lies until its first pulse.")
            return
        step = f"step {found[0]}" if found[0] else START_STEP
        asked = self._asked(*found[::-1])
        if tail:
            self.lines.append(
                f"{_capital(named(found[1]))} throws {name}, {step}. It asks for {asked}. {tail}."
            )
        else:
            throw = next(
                (a.text for a in found[1].acts if a.op in THROWS and a.mask == 1 << self.other),
                f"throw {name}",
            )
            who = self.name(self.train) if self.train >= 0 else "a train"
            self.lines.append(
                f"{_capital(who)} comes into {name} while {named(found[1])} has done `{throw}` ({step}) and "
                f"the points have not moved yet: they may throw under it. It asks for {asked}; none of it "
                f"told that a train was still on its way there."
            )
        self.rules.append(found[1])


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]
