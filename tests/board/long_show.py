"""A long show on the virtual board, time driven fast: chatter, missed and phantom hits, a pulled cable,
the owner's stops, a visitor who throws points faster than a coil bears.

python tests/board/long_show.py --hours 10 --seed 1
"""

from __future__ import annotations

import argparse
import json
import random
import sys
import tempfile
import time
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
if __name__ == "__main__":
    sys.path[:0] = [str(ROOT / "host"), str(ROOT / "firmware"), str(ROOT / "tests")]

from reedway.board.client import Client  # noqa: E402
from reedway.board.ports import open_port  # noqa: E402
from reedway.board.recorder import Recorder  # noqa: E402
from reedway.board.virtual import Pulse, VirtualBoard  # noqa: E402
from reedway.boardfile.compile import compile_layout  # noqa: E402
from reedway.layout.load import load  # noqa: E402
from reedway.sessionlog.kinds import w  # noqa: E402

LAYOUT = ROOT / "config" / "two-trains.yaml"
HOUR_MS = 3_600_000
PRESSES, PRESS_MS = 16, 1600  # of a visitor, on one turnout; a coil bears 4 and one more each 10 s
CAUSES = {"start": "running", "go on": "running", "stop": "stopped"}  # an order and the mode that it makes


@dataclass
class Show:
    """What happened, and what is wrong with it."""

    hours: float
    hits: int = 0
    chatter: int = 0
    missed: int = 0
    phantoms: int = 0
    unplugged: int = 0
    turns: int = 0
    presses: int = 0
    stops: Counter[str] = field(default_factory=Counter)  # by cause
    pulses: list[Pulse] = field(default_factory=list)
    records: int = 0
    lost: int = 0
    tally: dict[int, tuple[int, ...]] = field(default_factory=dict)
    kinds: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)


class Player:
    """Moves two trains in turn past their sensors, and disturbs them."""

    def __init__(self, board: VirtualBoard, rng: random.Random, show: Show) -> None:
        self.board = board
        self.rng = rng
        self.show = show
        self.names = compiled.names
        self.t = 1000

    def go(self, ms: int) -> None:
        self.t += ms
        self.show.pulses += self.board.go(self.t).pulses

    def touch(self, name: str, closed: bool, ms: int) -> None:
        self.board.set(self.names.inputs.index(name), closed)
        self.go(ms)

    def throw_contact(self) -> None:
        """The exit's contact says where the last pulse sent it."""
        for pulse in reversed(self.show.pulses):
            if pulse.coil in (0, 1):
                self.board.set(self.names.inputs.index("exit contact"), pulse.coil == 1)
                self.go(20)
                return

    def pass_sensor(self, name: str) -> None:
        """A magnet goes by, bouncing now and then."""
        if self.rng.random() < 0.1:
            self.show.chatter += 1
            for _ in range(self.rng.randint(1, 4)):
                self.touch(name, True, self.rng.randint(1, 3))
                self.touch(name, False, self.rng.randint(1, 3))
        self.touch(name, True, self.rng.randint(30, 150))
        self.touch(name, False, 90)
        self.throw_contact()
        self.go(4000)
        self.show.hits += 1

    def stop_and_go_on(self, name: str) -> None:
        """The owner stops all, a train coasts over its sensor all the same, the owner lets all go on."""
        self.board.order(w.O_STOP, w.NONE)
        self.go(50)
        before = len(self.show.pulses)
        self.pass_sensor(name)
        if self.board.out.mode != w.M_STOPPED or len(self.show.pulses) > before:
            self.show.wrong.append(f"stopped at {self.t} ms: mode {self.board.out.mode}, pulses")
        self.board.order(w.O_GO_ON, w.NONE)
        self.go(200)
        self.throw_contact()
        self.go(4000)

    def play_with_entry(self) -> None:
        """A visitor throws the entry to and fro, and in the end to where it was."""
        last = [pulse.coil for pulse in self.show.pulses if pulse.coil in (2, 3)][-1]
        for n in range(PRESSES):
            self.show.presses += 1
            self.board.order(w.O_THROW, 2 + (last - 2 + n + 1) % 2)
            self.go(PRESS_MS)
        self.go(40_000)

    def round(self, name: str) -> None:
        """One train comes round."""
        self.go(self.rng.randint(4000, 20000))
        chance = self.rng.random()
        if 0.5 < chance < 0.51:
            self.stop_and_go_on(name)
            return
        if 0.6 < chance < 0.61:
            self.play_with_entry()
        if chance < 0.03:
            self.show.missed += 1
            return
        if chance < 0.05:
            self.show.phantoms += 1
            self.touch(self.rng.choice(["N1", "N2"]), True, 2)  # shorter than confirm
            self.touch("N1", False, 1)
            self.touch("N2", False, 30)
        if chance > 0.995:
            self.show.turns += 1
            self.touch("siding", False, 5000)
            self.touch("siding", True, 1000)
        self.pass_sensor(name)


compiled = compile_layout(load(str(LAYOUT)))


def drain(board: VirtualBoard, recorder: Recorder) -> None:
    give_up = time.monotonic() + 30
    while recorder.count + recorder.lost < board.out.records and time.monotonic() < give_up:
        board.work()
        recorder.step()


class Worked:
    """A port whose board works on its line whenever we look."""

    def __init__(self, board: VirtualBoard) -> None:
        self._port = open_port(board.line)
        self._board = board

    @property
    def in_waiting(self) -> int:
        return int(getattr(self._port, "in_waiting", 0))

    def read(self, size: int = 1) -> bytes:
        if not self.in_waiting:
            self._board.work()
        return self._port.read(size) if self.in_waiting else b""

    def write(self, data: bytes, /) -> int | None:
        return self._port.write(data)

    def close(self) -> None:
        self._port.close()


def run(hours: float, seed: int) -> Show:
    """One show, judged."""
    show = Show(hours)
    rng = random.Random(seed)
    with tempfile.TemporaryDirectory() as folder, VirtualBoard(compiled) as board:
        log = Path(folder, "show.jsonl")
        board.set(compiled.names.inputs.index("siding"), True)
        player = Player(board, rng, show)
        player.go(0)
        recorder = Recorder(compiled, log, clock=lambda: board.out.t / 1000)
        client = Client(Worked(board))
        recorder.attach(client)
        board.order(w.O_START, w.NONE)
        player.go(300)
        player.throw_contact()
        player.go(10_000)
        rounds = 0
        while player.t < hours * HOUR_MS:
            player.round(("N1", "N2")[rounds % 2])
            rounds += 1
            if rounds % 20 == 0:
                drain(board, recorder)
            if rounds % 150 == 0:  # the cable is out for a few rounds
                show.unplugged += 1
                client.close()
                for name in ("N1", "N2") * 4:
                    player.round(name)
                client = Client(Worked(board))
                recorder.attach(client)
        player.go(20_000)
        drain(board, recorder)
        show.records, show.lost = board.out.records, recorder.lost
        show.tally = {line.numbers()[0]: line.numbers()[1:] for line in tally(client, board)}
        recorder.close()
        client.close()
        judge(show, log)
    return show


def tally(client: Client, board: VirtualBoard) -> list:
    lines = client.command("t", wants="t")
    end = time.monotonic() + 10
    while not any(line.fields[0] == 44 for line in lines) and time.monotonic() < end:
        board.work()
        lines += [line for line in client.poll() if line.kind == "t"]
    return lines


def judge(show: Show, log: Path) -> None:
    """Every coil within its budget and pause, the tally right, nothing lost, no stop."""
    by_coil: dict[int, list[int]] = defaultdict(list)
    for pulse in show.pulses:
        by_coil[pulse.coil].append(pulse.t)
    budget = {t[side]: (t[6], t[7]) for t in compiled.plan[7] for side in (0, 1)}  # type: ignore[index, union-attr]
    for coil, times in by_coil.items():
        pulses, cool_ms = budget[coil]  # type: ignore[index]
        for i in range(len(times)):
            for j in range(i, min(i + 40, len(times))):
                if j - i + 1 > pulses + (times[j] - times[i]) // cool_ms:  # type: ignore[operator]
                    show.wrong.append(f"coil {coil}: {j - i + 1} pulses from {times[i]} to {times[j]} ms")
    for a, b in zip(show.pulses, show.pulses[1:], strict=False):
        if b.t - a.t < 9 * a.ms:
            show.wrong.append(f"pulses at {a.t} and {b.t} ms are too near")
    hits = read(show, log)
    for i, name in enumerate(("N1", "N2")):
        if show.tally[i][0] != hits[name]:
            show.wrong.append(f"tally of {name}: {show.tally[i][0]}, log {hits[name]}")
    for coil, times in by_coil.items():
        if show.tally[30 + coil][0] != len(times):
            show.wrong.append(f"tally of coil {coil}: {show.tally[30 + coil][0]}, pulses {len(times)}")
    if show.kinds.total() != show.records + 1:
        show.wrong.append(f"{show.kinds.total() - 1} records in the log, {show.records} on the board")


def read(show: Show, log: Path) -> Counter[str]:
    """Count what the log tells; an order explains a change of the mode at its instant. Returns the hits."""
    hits: Counter[str] = Counter()
    order: dict = {"t": -1, "name": ""}
    with open(log, encoding="utf-8") as file:
        next(file)
        for line in map(json.loads, file):
            kind = line["kind"]
            show.kinds[kind] += 1
            if kind == "hit":
                hits[line["name"]] += 1
            unmoved = kind == "caution" and line["value"] in (w.C_UNMOVED, w.C_STRAYED)
            if kind == "order":
                order = line
            is_ordered = order["t"] == line["t"] and CAUSES.get(order["name"]) == line["name"]
            unasked = kind == "mode" and not is_ordered
            if unmoved or unasked or kind in ("fault", "lost", "late", "refused"):
                show.wrong.append(f"{line}")
            if kind == "mode" and line["name"] != "running":
                show.stops["unexplained" if unasked else f"{order['name']} by the owner"] += 1
    return hits


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--hours", type=float, default=10)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    begun = time.monotonic()
    show = run(args.hours, args.seed)
    print(
        f"seed {args.seed}: {show.hours:g} h, {show.hits} passes, {show.chatter} with chatter, "
        f"{show.missed} missed, {show.phantoms} phantoms, {show.unplugged} times unplugged, {show.turns} "
        f"switch turns, {show.presses} throws of a visitor; {len(show.pulses)} pulses, "
        f"{show.records} records, {show.lost} lost; {time.monotonic() - begun:.0f} s"
    )
    print("stops:", dict(show.stops))
    print({kind: show.kinds[kind] for kind in ("caution", "fault", "refresh", "deferred", "chatter")})
    for wrong in show.wrong[:10]:
        print("wrong:", wrong)
    return 1 if show.wrong else 0


if __name__ == "__main__":
    raise SystemExit(main())
