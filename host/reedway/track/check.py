"""Is the track whole, run one way only, and is every section freed by something?"""

from __future__ import annotations

from reedway.layout.model import Layout, Text
from reedway.layout.near import did_you_mean
from reedway.problems import Complaint
from reedway.track.checksensors import check_sensors
from reedway.track.model import TrackSection

SECTIONS_MAX = 60
TWO_WAY = "Reedway has no reversing loops and no two-way running"


def check_track(layout: Layout) -> list[Complaint]:
    """Every complaint of the first stage that has any: names, how sections join, what frees them."""
    if not layout.track:
        return _without_track(layout)
    check = _Check(layout)
    for stage in (check.names, check.joints, check.circuit):
        stage()
        if check.found:
            return check.found
    return check_sensors(layout)


def _without_track(layout: Layout) -> list[Complaint]:
    return [
        Complaint(
            layout.path,
            sensor.tail_clear_of[0].line,
            f"tail_clear_of of sensor {sensor.name}: this file describes no track; it is needed; add track:",
        )
        for sensor in layout.sensors
        if sensor.tail_clear_of
    ]


class _Check:
    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.by_name = {section.name: section for section in layout.track}
        self.found: list[Complaint] = []
        self.turnouts = {turnout.name for turnout in layout.turnouts}

    def complain(self, line: int, message: str) -> None:
        self.found.append(Complaint(self.layout.path, line, message))

    # -- names ----------------------------------------------------------------------------------------

    def names(self) -> None:
        """Every name that is used is a section, in the spelling of `track:`."""
        if len(self.layout.track) > SECTIONS_MAX:
            line = self.layout.track[SECTIONS_MAX].line
            self.complain(line, f"{len(self.layout.track)} sections; at most {SECTIONS_MAX} fit; join some")
        folded = {name.casefold(): name for name in self.by_name}
        for section in self.layout.track:
            section.to[:] = [self._spelled(t, folded, f"to of section {section.name}") for t in section.to]
            section.come_from[:] = [
                self._spelled(t, folded, f"from of section {section.name}") for t in section.come_from
            ]
        for sensor in self.layout.sensors:
            sensor.tail_clear_of[:] = [
                self._spelled(t, folded, f"tail_clear_of of sensor {sensor.name}")
                for t in sensor.tail_clear_of
            ]
        self._things()

    def _spelled(self, text: Text, folded: dict[str, str], where: str) -> Text:
        name = folded.get(text.text.casefold())
        if name is None:
            advice = did_you_mean(text.text, self.by_name)
            self.complain(text.line, f"{where}: there is no section '{text}' under track; {advice}")
            return text
        return Text(name, text.line)

    def _things(self) -> None:
        """Places and turnouts are sections under their own names; nothing else may be called like one."""
        layout = self.layout
        sections = {name.casefold(): name for name in self.by_name}
        for kind, things in (("place", layout.places), ("turnout", layout.turnouts)):
            for thing in things:
                if thing.name not in self.by_name:
                    near = sections.get(thing.name.casefold(), "")
                    advice = f"write '{near}' the same way" if near else f"add {thing.name}: under track"
                    self.complain(thing.line, f"{kind} {thing.name} is not on the track; {advice}")
        for others in (layout.sensors, layout.levels, layout.buttons, layout.blocks, layout.relays):
            for other in others:
                if other.name.casefold() in sections:
                    self.complain(
                        self.by_name[sections[other.name.casefold()]].line,
                        f"section {other.name}: something else has this name (line {other.line}); "
                        "places and turnouts alone may share theirs with a section; rename one",
                    )

    # -- joints ---------------------------------------------------------------------------------------

    def joints(self) -> None:
        """Ways in and out of every section fit together."""
        before: dict[str, list[TrackSection]] = {name: [] for name in self.by_name}
        for section in self.layout.track:
            for target in section.to:
                before[target.text].append(section)
        for section in self.layout.track:
            if section.name in self.turnouts:
                self._turnout(section, before[section.name])
            else:
                self._plain(section, before[section.name])

    def _plain(self, section: TrackSection, before: list[TrackSection]) -> None:
        name = section.name
        if section.come_from or section.in_time:
            key = "from" if section.come_from else "in_time"
            self.complain(section.line, f"section {name}: {key} is for turnouts; this is none; take it out")
        if len(section.to) != 1:
            many = f"leads to {len(section.to)} sections" if section.to else "leads nowhere"
            advice = "put the turnout that chooses between them" if section.to else "say to: what comes after"
            self.complain(
                section.line,
                f"section {name} {many}; every section but a turnout leads to one, "
                f"as dead ends and two-way running are not known; {advice}",
            )
        self._led_to(section, before)
        if len(before) > 1:
            others = " and ".join(other.name for other in before)
            self.complain(
                section.line,
                f"section {name} is entered from {others}; a section that is no turnout has one way in "
                f"({TWO_WAY}); put the turnout where they join",
            )

    def _led_to(self, section: TrackSection, before: list[TrackSection]) -> None:
        if not before:
            self.complain(
                section.line,
                f"no section leads to {section.name}; all track is one circuit; name it in a to",
            )

    def _turnout(self, section: TrackSection, before: list[TrackSection]) -> None:
        name = section.name
        ways_in = {text.text for text in section.come_from}
        if len(section.to) == 2 and section.come_from:
            self.complain(
                section.line,
                f"turnout {name} has two ways in and two ways out; {TWO_WAY}; "
                "give it to: [A, B] if trains come to its points, else from: [A, B]",
            )
            return
        if len(section.to) == 2:
            self._led_to(section, before)
            if len(before) > 1:
                others = " and ".join(other.name for other in before)
                self.complain(
                    section.line,
                    f"turnout {name} is entered from {others}; with two ways out it has one way in: "
                    f"{TWO_WAY}; let a section of its own come back into the line by another turnout",
                )
        elif len(section.to) == 1 and len(ways_in) == 2:
            led = {other.name for other in before}
            if led != ways_in:
                odd = " and ".join(sorted(led ^ ways_in))
                self.complain(
                    section.line,
                    f"turnout {name}: from and to do not agree about {odd}; each section named in from "
                    f"leads to {name}, and no other; write to: {name} there",
                )
        else:
            self.complain(
                section.line,
                f"turnout {name}: which way is it run? allowed are to: two sections (by position), or "
                "from: two sections and to: one; write one of them",
            )

    # -- the whole ------------------------------------------------------------------------------------

    def circuit(self) -> None:
        """From every section a train comes round to every other."""
        forward = {section.name: [t.text for t in section.to] for section in self.layout.track}
        back: dict[str, list[str]] = {name: [] for name in forward}
        for name, targets in forward.items():
            for target in targets:
                back[target].append(name)
        first = self.layout.track[0]
        for links, what in ((forward, "cannot be reached from"), (back, "does not come round to")):
            seen = {first.name}
            todo = [first.name]
            while todo:
                new = [name for name in links[todo.pop()] if name not in seen]
                seen.update(new)
                todo += new
            for section in self.layout.track:
                if section.name not in seen:
                    self.complain(
                        section.line,
                        f"section {section.name} {what} {first.name}; all track is one circuit; join it",
                    )
