"""Stage 3, within one thing: what its keys say must agree."""

from __future__ import annotations

from collections.abc import Callable

from reedway.layout.entries import Entries, Entry
from reedway.layout.near import did_you_mean, listed

Complain = Callable[[int, str], None]


def check_agreement(entries: Entries, complain: Complain) -> None:
    """Every complaint about turnouts, gangs, rules and starts in themselves."""
    for entry in entries["turnouts"]:
        _turnout(entry, complain)
    for entry in entries["gangs"]:
        _gang(entry, complain)
    for entry in entries["rules"]:
        _rule(entry, complain)
    _contacts_once(entries, complain)
    _followers_at_start(entries, complain)


def _turnout(entry: Entry, complain: Complain) -> None:
    """Contacts at positions that exist, each once."""
    names = [position.text for position in entry["positions"]]
    seen: set[str] = set()
    for position, _contact in entry["contacts"] or []:
        if position.text.casefold() not in (name.casefold() for name in names):
            complain(
                position.line,
                f"contacts of turnout {entry.name}: there is no position '{position}'; "
                f"allowed are {listed(names)}; {did_you_mean(position.text, names, 'write one of these')}",
            )
        elif position.text.casefold() in seen:
            complain(
                position.line,
                f"contacts of turnout {entry.name}: '{position}' is there twice; allowed once; take one out",
            )
        seen.add(position.text.casefold())


def _gang(entry: Entry, complain: Complain) -> None:
    if not entry[""]:
        complain(
            entry.line, f"gang {entry.name}: it has no turnouts; one or more are needed; write [exit, entry]"
        )


def _rule(entry: Entry, complain: Complain) -> None:
    """A rule is an event rule or a standing rule, and does something."""
    at, as_soon_as = entry["at"], entry["as_soon_as"]
    if at is None and as_soon_as is None:
        complain(
            entry.line,
            "rule: neither 'at' nor 'as_soon_as' is there; each rule has one of them; add at: EVENT",
        )
    if at is not None and as_soon_as is not None:
        complain(
            entry.line_of("as_soon_as"),
            f"rule: 'as_soon_as' beside 'at: {at}'; each rule has one of them; "
            "write its conditions under while, or make two rules",
        )
    if as_soon_as is not None and entry["while"] is not None:
        complain(
            entry.line_of("while"),
            "rule: 'while' beside 'as_soon_as'; while belongs to at; write all conditions under as_soon_as",
        )
    for key in ("do", "as_soon_as"):
        if entry[key] is not None and not entry[key]:
            complain(
                entry.line_of(key), f"rule: '{key}' is empty; a rule needs one or more; write a sentence"
            )


def _contacts_once(entries: Entries, complain: Complain) -> None:
    user: dict[str, str] = {}
    for entry in entries["turnouts"]:
        for position, contact in entry["contacts"] or []:
            use = f"turnout {entry.name} to {position}"
            before = user.setdefault(contact.text, use)
            if before != use:
                complain(
                    contact.line,
                    f"contacts of turnout {entry.name}: '{contact}' already shows {before}; "
                    "a contact shows one position; use another contact",
                )


def _followers_at_start(entries: Entries, complain: Complain) -> None:
    followers = {entry.name for entry in entries["relays"] if entry["pulled_in_while"] is not None}
    for entry in entries["starts"]:
        for name in entry["relays_in"] or []:
            if name.text in followers:
                complain(
                    name.line,
                    f"relays_in of start {entry.name}: '{name}' follows its pulled_in_while; "
                    "a start sets other relays only; take it out",
                )
