"""The layout as the owner wrote it: checked values in plain dataclasses, each with the line it stands on."""

from __future__ import annotations

from dataclasses import dataclass, field

from reedway.electrics.model import Electrics
from reedway.track.model import TrackSection
from reedway.trains.model import Stock


@dataclass(frozen=True)
class Text:
    """A word or sentence of the file with the line it stands on."""

    text: str
    line: int

    def __str__(self) -> str:
        return self.text


@dataclass
class Sensor:
    name: str
    line: int
    terminal: Text
    confirm_ms: int
    opening_ms: int
    rearm_ms: int
    at_rest_ms: int  # 0: never
    tail_clear_of: list[Text] = field(default_factory=list)  # sections that the whole train has left
    pair_with: Text | None = None  # the sensor just before it
    senses: Text | None = None  # what the old relays do when it closes: `exit to B`, `Hold goes`


@dataclass
class Level:
    """Detector, switch, position contact or track power: an input whose level counts."""

    name: str
    line: int
    terminal: Text
    kind: str  # "detector", "switch", "contact" or "power"
    confirm_ms: int
    opening_ms: int
    on_word: str = "on"  # detector: occupied / free; switch: as the owner names them
    off_word: str = "off"
    senses: Text | None = None  # of a detector: what the old relays do while it is held


@dataclass
class Button:
    name: str
    line: int
    terminal: Text
    confirm_ms: int
    opening_ms: int
    order: Text | None = None  # "start", "stop", "go on", "acknowledge", "hold H", "go H"


@dataclass
class Supply:
    name: str
    line: int
    recharge_ms: int
    lead_ms: int
    trail_ms: int
    terminal: Text | None = None


@dataclass
class Turnout:
    name: str
    line: int
    first: str  # the owner's name of the straight position
    second: str  # ... of the diverging one
    coil_first: Text
    coil_second: Text
    supply: Text | None
    pulse_ms: int
    pulses: int  # heat budget: a pulse needs heat below this
    cool_ms: int
    refresh_every_ms: int
    power_routing: bool
    relay_operate_ms: int = 0  # coil driven through a relay: added to the pulse
    contact_first: str | None = None  # name of the Level that closes in the first position
    contact_second: str | None = None
    contact_wait_ms: int = 0


@dataclass
class Gang:
    name: str
    line: int
    turnouts: list[Text]  # in the order of throwing


@dataclass
class Block:
    name: str
    line: int
    terminal: Text


@dataclass
class Place:
    name: str
    line: int
    block: Text | None


@dataclass
class Relay:
    name: str
    line: int
    safe_in: bool  # the side it takes when two rules of one event disagree
    follows: list[Text] | None = None  # pulled_in_while: conditions


@dataclass
class Timer:
    name: str
    line: int
    time_ms: int


@dataclass
class Lamp:
    name: str
    line: int
    terminal: Text
    shows: Text | None  # None: rules light and darken it


@dataclass
class Rule:
    line: int
    at: Text | None  # None: a standing rule
    conditions: list[Text]
    acts: list[Text]
    why: str | None = None  # the owner's own reason, printed by explain
    derived: bool = False  # from the track, not written by the owner


@dataclass
class Start:
    name: str
    line: int
    trains_at: list[Text]
    switches: list[Text]  # conditions on switches
    relays_in: list[Text]
    turnouts: list[Text]  # "ends to B"
    go: list[Text]  # blocks


@dataclass
class Layout:
    """One layout file. Lists keep file order; the logic iterates in that order."""

    path: str
    source: bytes
    sha256: str  # of the file with line ends as \n
    name: str
    board: str  # "pico" or "pico2"
    drawing: list[str] = field(default_factory=list)
    drawing_line: int = 0
    terminals: dict[str, int] = field(default_factory=dict)  # GPIO overrides, "sensor 1" -> 2
    terminal_lines: dict[str, int] = field(default_factory=dict)
    is_shadow: bool = False  # the logic runs, outputs stay off
    late_ms: int = 20
    defer_ms_max: int = 0
    coil_pause_ms: int = 0  # the owner's wish; build takes the hardware's floor if that is longer
    sensors: list[Sensor] = field(default_factory=list)
    levels: list[Level] = field(default_factory=list)
    buttons: list[Button] = field(default_factory=list)
    supplies: list[Supply] = field(default_factory=list)
    turnouts: list[Turnout] = field(default_factory=list)
    gangs: list[Gang] = field(default_factory=list)
    blocks: list[Block] = field(default_factory=list)
    track_feed: Text | None = None  # its terminal
    places: list[Place] = field(default_factory=list)
    relays: list[Relay] = field(default_factory=list)
    timers: list[Timer] = field(default_factory=list)
    lamps: list[Lamp] = field(default_factory=list)
    rules: list[Rule] = field(default_factory=list)
    starts: list[Start] = field(default_factory=list)
    electrics: Electrics = field(default_factory=Electrics)
    stock: Stock = field(default_factory=Stock)
    track: list[TrackSection] = field(default_factory=list)
    rules_derived: bool = False  # those that keep trains apart come from the track
    hits_by_running_time: bool = False  # a due hit counts only when the slowest train would have come
