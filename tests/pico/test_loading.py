"""`reedway load` onto an emulated RP2040 over a real port, after a load that broke off; takes minutes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from pico.image import image

UF2 = image()

import mpremote.transport_serial  # noqa: E402

from pico.bench import LAYOUT, compiled  # noqa: E402
from pico.cable import Cable, ChipTime  # noqa: E402
from pico.chip import Chip  # noqa: E402
from reedway.board import client  # noqa: E402
from reedway.board.loading import load, prompt, reaching  # noqa: E402
from reedway.board.loading.folder import contents_of  # noqa: E402
from reedway.cli import main  # noqa: E402


def half_loaded(layout: Path) -> dict[str, bytes]:
    """What a load leaves that broke off, and worse: one file torn, and boot.py lost."""
    there = dict(contents_of(str(layout)).files)
    for path in ("boot.py", "main.py", "manifest.json"):
        del there[path]
    there["names.json"] = there["names.json"][:100]
    return there


def test_a_load_that_broke_off_goes_on_and_the_chip_says_hello(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    layout = tmp_path / "bench.yaml"
    layout.write_bytes(LAYOUT)
    chip = Chip(UF2, half_loaded(layout))
    clock = ChipTime(chip)
    for module in (mpremote.transport_serial, prompt, reaching, load):
        monkeypatch.setattr(module, "time", clock)
    monkeypatch.setattr(client.Client.__init__, "__defaults__", (clock.monotonic,))
    monkeypatch.setattr(client, "TRIES", 2)
    monkeypatch.setattr(client, "ANSWER_S", 0.1)
    monkeypatch.setattr(prompt, "READ_S", 60.0)
    cable = Cable(chip, tmp_path)
    try:
        code = main(["load", str(layout), "--port", cable.port, "--json"])
        out, err = capsys.readouterr()
        assert code == 0, err
        told = json.loads(out)
        with capsys.disabled():
            print(f"loaded {len(told['written'])} files, {told['bytes_written']} bytes", end=" ")
            print(f"in {chip.now_ms / 1000:.1f} s of the chip's time, boots included")
        assert told["written"] == ["boot.py", "names.json", "main.py", "manifest.json"]
        assert told["board"]["layout_sha256"] == compiled().layout.sha256
        assert told["board"]["cause"] == "reset asked for" and told["board"]["chip"] == "2040"
    finally:
        cable.close()
