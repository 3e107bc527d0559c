"""What a track needs beyond being whole, so that safe rules can be derived from it."""

from __future__ import annotations

from reedway.layout.model import Layout, Text
from reedway.problems import Complaint
from reedway.track.legs import Legs


def check_derivable(layout: Layout, legs: Legs) -> list[Complaint]:
    """Every complaint; each names what to add, or says to write the rules oneself."""
    track = legs.track
    found: list[Complaint] = []

    def complain(line: int, message: str) -> None:
        found.append(
            Complaint(layout.path, line, f"{message}, or write the rules yourself: safe_rules: written")
        )

    if len(legs.places) < 2:
        complain(layout.track[0].line, "rules are derived for two places and more; add a place to the track")
        return found
    for place in legs.places:
        section = track.sections[place]
        if not track.block(place):
            complain(
                section.line,
                f"place {section.name} has no block, so no rule can hold a train; add a block under blocks: "
                f"and name it at {section.name} under places: (block:)",
            )
        if section.used_while is not None and not out_of_service(layout, section.used_while):
            complain(
                section.used_while.line,
                f"section {section.name}: used_while '{section.used_while}' is not how a switch can stand; "
                "name a switch of switches: and one of its two words",
            )
    freed = {i for leg in legs.all for point in leg.points for i in point.frees}
    for i, section in enumerate(track.sections):
        if i not in freed:
            complain(
                section.line,
                f"section {section.name} is freed by no sensor with tail_clear_of; a detector alone does not "
                "free it in derived rules, as it lets go for a moment between cars or on dirty rails, and a "
                "train would be sent into what is taken; add such a sensor (the detector then sees to cars "
                "left behind)",
            )
        if section.used_while is not None and track.place(i) < 0:
            complain(section.line, f"section {section.name}: used_while is for places; take it out")
    for leg, left in legs.unlike:
        both = set(left) ^ set(legs.behind[leg.end])
        complain(
            track.sections[leg.end].line,
            f"trains that come to {track.name(leg.end)} from different places leave different sections "
            f"behind ({track.names(sorted(both))}); put a sensor where the whole train has left these",
        )
    _shared_blocks(layout, legs, complain)
    return found


def out_of_service(layout: Layout, in_service: Text) -> str:
    """The sentence for the switch turned the other way; "" when the sentence is not about a switch."""
    for level in layout.levels:
        words = [level.on_word, level.off_word]
        for word, other in (words, words[::-1]):
            if level.kind == "switch" and in_service.text.casefold() == f"{level.name} {word}".casefold():
                return f"{level.name} {other}"
    return ""


def _shared_blocks(layout: Layout, legs: Legs, complain) -> None:  # type: ignore[no-untyped-def]
    """Two places may share a block only behind power-routing points that choose between them."""
    track = legs.track
    by_block: dict[str, list[int]] = {}
    for place in legs.places:
        by_block.setdefault(track.block(place), []).append(place)
    for block, places in by_block.items():
        nexts = {target for place in places for target in track.to[place]}
        turnout = track.turnout(next(iter(nexts))) if len(nexts) == 1 else -1
        if block and len(places) > 1 and (turnout < 0 or not layout.turnouts[turnout].power_routing):
            complain(
                track.sections[places[1]].line,
                f"block {block} lets trains out of {track.names(places)} at once; places share a block only "
                "where a power-routing turnout just behind them chooses; give each its own block",
            )
