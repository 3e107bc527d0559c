"""How fast the proof against the clock is, as JSON: three trains of an example layout in small ticks.

python tests/speed/timed.py
python tests/speed/timed.py --layout three-trains-go-sensor --tick 20
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT / folder) for folder in ("host", "firmware")]

from reedway.boardfile.compile import compile_layout  # noqa: E402
from reedway.layout.load import load  # noqa: E402
from reedway.proof.scene import set_scene  # noqa: E402
from reedway.proof.timed.clock import Clock  # noqa: E402
from reedway.proof.timed.judge import TimedLimits, judge_timed  # noqa: E402
from reedway.proof.timed.rails import Rails, trains_of  # noqa: E402


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--layout", default="three-trains-interlocked")
    parser.add_argument("--tick", type=int, default=10, help="ms")
    args = parser.parse_args()
    compiled = compile_layout(load(str(ROOT / "config" / f"{args.layout}.yaml")))
    rails = Rails(compiled, Clock(args.tick))
    scene = set_scene(compiled, 0)
    made = trains_of(compiled.layout)
    began = time.process_time()
    verdict = judge_timed(scene, rails, tuple(made[: len(scene.places)]), TimedLimits(20_000_000, 8_000))
    cpu_s = time.process_time() - began
    out = {
        "layout": args.layout,
        "tick_ms": args.tick,
        "result": verdict.result,
        "states": verdict.states,
        "transitions": verdict.transitions,
        "standings": verdict.standings,
        "seconds": round(verdict.seconds, 3),
        "states_per_s": round(verdict.states / verdict.seconds),
        "cpu_seconds": round(cpu_s, 3),
        "states_per_cpu_s": round(verdict.states / cpu_s),
        "peak_mb": round(verdict.peak_mb, 1),
    }
    print(json.dumps(out))
    return 0


if __name__ == "__main__":
    sys.exit(main())
