"""Writes config/sessions/ from the stories, whose seeds are fixed: `python tests/examples/make_sessions.py`.

Run it after any change of an example layout: a session log carries the hash of its layout file. With names
behind it only the sessions whose names contain one of them are written.
"""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
CONFIG = ROOT / "config"

if __name__ == "__main__":
    sys.path[:0] = [str(ROOT / part) for part in ("host", "firmware", "tests")]

from examples.evening import Evening, Story  # noqa: E402
from examples.stories import stories  # noqa: E402


def played(story: Story) -> Evening:
    """The story with its own layout, played through."""
    evening = Evening(story, (CONFIG / f"{story.layout}.yaml").read_bytes())
    evening.play()
    return evening


def text(evening: Evening) -> str:
    """The session log, as it is shipped."""
    return "".join(line + "\n" for line in evening.lines())


def path_of(story: Story) -> Path:
    return CONFIG / "sessions" / f"{story.layout}_{story.name}.jsonl"


def main(wanted: list[str]) -> None:
    for story in stories():
        path = path_of(story)
        if wanted and not any(name in path.name for name in wanted):
            continue
        evening = played(story)
        path.write_text(text(evening), encoding="utf-8", newline="\n")
        print(f"{path.name}: {len(evening.records)} records, {path.stat().st_size} bytes")
        for t, mishap in evening.rails.mishaps:
            print(f"  at {t} ms: {mishap}")


if __name__ == "__main__":
    main(sys.argv[1:])
