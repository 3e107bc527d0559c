"""How fast the explorer of `prove` is: a ring of K blocks with N trains, counted and timed, as JSON.

    python tests/speed/prove.py --blocks 20 --trains 10

The same search that `reedway prove` runs; K = 20, N = 10 has 1,847,560 states and 9,724,000 transitions.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT / folder) for folder in ("host", "firmware", "tests")]

from proof.ring import ring  # noqa: E402
from reedway.proof.scene import set_scene  # noqa: E402
from reedway.proof.search import search  # noqa: E402


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--blocks", type=int, required=True)
    parser.add_argument("--trains", type=int, required=True)
    args = parser.parse_args()
    scene = set_scene(ring(args.blocks, args.trains), 0)
    world, start = scene.world(lagging=False)
    began = time.process_time()
    found = search(world, start)
    cpu_s = time.process_time() - began
    out = {
        "states": found.states,
        "transitions": found.transitions,
        "dead": found.dead,
        "seconds": round(found.seconds, 3),
        "peak_mb": round(found.peak_mb, 1),
        "states_per_s": round(found.states_per_s),
        "cpu_seconds": round(cpu_s, 3),
        "states_per_cpu_s": round(found.states / cpu_s) if cpu_s else 0,
        "controller_asked": scene.machine.asked,
        "verdict": found.bad or found.cut_off or "nothing bad",
    }
    print(json.dumps(out))
    return 0


if __name__ == "__main__":
    sys.exit(main())
