"""Why trains that can never move again do not move: what each waits for, and why that does not come."""

from __future__ import annotations

from reedlogic import words as w
from reedway.boardfile.grammar import Condition
from reedway.boardfile.rulewords import CompiledRule
from reedway.proof.packing import WANTED
from reedway.proof.rulenames import head, listed, so_since, was_not
from reedway.proof.scene import Scene
from reedway.proof.tracing import Moment
from reedway.proof.world import World

RULES_MAX = 3  # told of one block
RELAYS = 4  # words


class Jam:
    """Looks at the last state of a story. `rules` are those that could have helped."""

    def __init__(
        self, scene: Scene, world: World, moments: list[Moment], trains: list[int] | None = None
    ) -> None:
        self.scene = scene
        self.world = world
        self.moments = moments
        self.track = scene.spots.track
        self.layout = self.track.layout
        self.words = list(scene.machine.packing.unpack(moments[-1].after & scene.machine.all))
        self.rules: list[CompiledRule] = []
        self.lines: list[str] = []
        self.told: set[str] = set()
        self.freeing: set[int] = set()  # rules told that let a train go
        for j in range(len(scene.trains)) if trains is None else trains:
            self._train(j)

    def _all(self) -> list[CompiledRule]:
        return [*self.scene.compiled.at_rules, *self.scene.compiled.standing]

    def _train(self, j: int) -> None:
        number = self.world.spot_of(self.moments[-1].after, j)
        if number == self.world.gone:
            return
        spot = self.scene.spots.spots[number]
        place = self.scene.spots.stands(spot)
        if place < 0:
            return
        block = self.track.block(place)
        who = self.scene.trains[j]
        who = who[0].upper() + who[1:]
        where = f"{who} stands in {self.track.name(place)}"
        bit = 1 << [b.name for b in self.layout.blocks].index(block) if block else 0
        if (not block or self.words[w.W_GO] & bit) and self._points(where, place):
            return
        if not block:
            self.lines.append(f"{where}, which has no block: it waits for its rails to be fed.")
            return
        if self.words[w.W_GO] & bit:
            self.lines.append(
                f"{where}: {block} may go, but waits for points that are not known to lie right."
            )
            return
        rules = [
            rule
            for rule in self._all()
            if _does(rule, w.OP_SET, w.W_GO, bit) and not self._is_for_another(rule, place)
        ]
        if not rules:
            self.lines.append(f"{where}, and no rule ever lets {block} go.")
            return
        if all(id(rule) in self.freeing for rule in rules):
            self.lines.append(f"{where} and waits for {block} too.")
            return
        self.freeing |= {id(rule) for rule in rules}
        self.lines.append(f"{where} and waits for {block} to go:")
        for rule in rules[:RULES_MAX]:
            self._rule(rule)

    def _points(self, where: str, place: int) -> bool:
        """Where power-routing points behind its place are set for another: who throws them, and why not."""
        target = self.track.to[place][0]
        turnout = self.track.turnout(target)
        if not self.track.is_trailing(target) or not self.layout.turnouts[turnout].power_routing:
            return False
        side = self.track.position_into(place, target)
        thing = self.layout.turnouts[turnout]
        wanted = f"{thing.name} to {(thing.first, thing.second)[side]}"
        if self.words[WANTED] >> turnout & 1 == side:
            if self.track.block(place):
                return False
            self.lines.append(f"{where}, which has no block, and does not wait: {wanted} is asked for.")
            return True
        self.lines.append(f"{where} and waits for {wanted}, which feeds its rails:")
        op = (w.OP_THROW_A, w.OP_THROW_B)[side]
        bit = 1 << turnout
        rules = [rule for rule in self._all() if any(act.op == op and act.mask & bit for act in rule.acts)]
        if not rules:
            self.lines.append(f"- no rule ever throws {wanted}.")
        for rule in rules[:RULES_MAX]:
            self.rules.append(rule)
            done = f"- `throw {wanted}` is done by the rule at line {rule.line} ({head(rule)})"
            self.lines.append(f"{done}{self._missed(rule)}.")
        return True

    def _is_for_another(self, rule: CompiledRule, place: int) -> bool:
        """Does it throw the points behind the place to another one's track?"""
        target = self.track.to[place][0]
        if not self.track.is_trailing(target):
            return False
        bit = 1 << self.track.turnout(target)
        other = (w.OP_THROW_A, w.OP_THROW_B)[1 - self.track.position_into(place, target)]
        return any(act.op == other and act.mask & bit for act in rule.acts)

    def _rule(self, rule: CompiledRule) -> None:
        """Why this rule does not act."""
        self.rules.append(rule)
        lacking = [condition for condition in rule.conditions if not self._holds(condition)]
        if rule.event is not None and not lacking:
            self.lines.append(
                f"- the rule at line {rule.line} lets it go at {rule.event.text}, which has not come."
            )
            return
        told = [f"`{c.text}` ({so_since(self.scene.compiled.numbering, self.moments, c)})" for c in lacking]
        self.lines.append(f"- the rule at line {rule.line} waits for {listed(told)}.")
        for condition in lacking:
            self._why_not(condition)

    def _holds(self, condition: Condition) -> bool:
        return all(self.words[word] & mask == value for word, mask, value in condition.bits)

    def _why_not(self, condition: Condition) -> None:
        """Which rule should have made the condition so, and why it did not."""
        word, mask, value = condition.bits[0]
        if word >= RELAYS or condition.text in self.told:
            return
        self.told.add(condition.text)
        op = w.OP_SET if value else w.OP_CLEAR
        rules = [rule for rule in self._all() if _does(rule, op, word, mask)]
        if not rules:
            self.lines.append(f"- no rule ever makes it so that `{condition.text}`.")
        for rule in rules[:RULES_MAX]:
            self.rules.append(rule)
            comes = f"- `{condition.text}` is made by the rule at line {rule.line} ({head(rule)})"
            self.lines.append(comes + self._missed(rule) + ".")

    def _missed(self, rule: CompiledRule) -> str:
        """The last step at which the event of a rule came, and its conditions did not hold."""
        if rule.event is None:
            lacking = [f"`{c.text}`" for c in rule.conditions if not self._holds(c)]
            return f", which waits for {listed(lacking)}" if lacking else ""
        sensor = rule.event.text.removesuffix(" hit")
        is_hit = sensor != rule.event.text
        for n in range(len(self.moments) - 1, 0, -1):
            moment = self.moments[n]
            if rule.event.number not in self._events(moment):
                continue
            if any(acted.rule is rule for acted in moment.acted):
                return f", last at step {n}"
            words = self.scene.machine.packing.unpack(moment.before & self.scene.machine.all)
            lacking = [
                c.text
                for c in rule.conditions
                if any(words[word] & mask != value for word, mask, value in c.bits)
            ]
            came = f"{sensor} was hit" if is_hit else f"{rule.event.text} came"
            return f"; {came} at step {n}, but {was_not(lacking)} then" if lacking else ""
        return f"; {sensor} was not hit" if is_hit else f"; {rule.event.text} did not come"

    def _events(self, moment: Moment) -> list[int]:
        if moment.told is None or moment.told.event < 0:
            return []
        numbers = []
        for name, *values in self.scene.machine.events[moment.told.event]:
            kinds = {"pass": w.E_HIT, "shut": w.E_HIT, "timer_end": w.E_TIMER, "in_position": w.E_POSITION}
            if name in kinds:
                numbers.append(kinds[str(name)] << w.EVENT_SHIFT | int(values[0]))
            elif name == "change":
                numbers.append((w.E_ON if values[1] else w.E_OFF) << w.EVENT_SHIFT | int(values[0]))
        return numbers


def _does(rule: CompiledRule, op: int, word: int, bit: int) -> bool:
    return any(act.op == op and act.word == word and act.mask & bit for act in rule.acts)
