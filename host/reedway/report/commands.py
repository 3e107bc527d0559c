"""`report` and `export`: what happened this evening?"""

from __future__ import annotations

import argparse
import json
import sys
from typing import Any

from reedway.counting import counted
from reedway.layout.checking import check_file
from reedway.problems import ReedwayError
from reedway.report.csvfile import write_csv
from reedway.report.evenings import evenings_json, evenings_lines, evenings_of, mixed_lines
from reedway.report.exporting import TERMINAL, check_new, new_file
from reedway.report.figures import figures, read_session
from reedway.report.shadowing import shadow_json, shadow_lines, shadowing
from reedway.report.text import report_lines
from reedway.report.vcdfile import write_vcd
from reedway.sessionlog.reader import LogReader

QUESTION = "What happened this evening?"


def register(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    report = subparsers.add_parser(
        "report",
        description="Tell what a session log holds: hits, throws, blocks, cautions, and a strip over time. "
        "For each sensor that throws it tells what a relay would have done to the coil. Of several evenings "
        "it also tells which reed is tiring: a Mann-Kendall test of closing time, chatter and missed hits, "
        "from six evenings on. Exit code 0: every "
        "line could be read; 1: something could not, and is said.",
        epilog="examples:\n"
        "  reedway report evening.jsonl\n"
        "  reedway report monday.jsonl tuesday.jsonl --json\n"
        "  reedway report sessions/*.jsonl             which reed is tiring?\n"
        "  reedway report evening.jsonl --shadow --layout my.yaml    the logic beside the old relays\n",
    )
    report.add_argument("logs", metavar="LOG", nargs="+", help="session log")
    report.add_argument(
        "--shadow", action="store_true", help="what the logic would have done beside what the old relays did"
    )
    report.add_argument("--layout", metavar="FILE", help="with --shadow: the layout file of the log")
    report.add_argument("--json", action="store_true", help="print JSON")
    report.set_defaults(run=run_report)
    export = subparsers.add_parser(
        "export",
        description="Write a session log as a table or as waveforms. CSV (RFC 4180) opens in any "
        "spreadsheet (if it asks: comma, UTF-8): a record a line; the numbers of a state, which only "
        "`replay` reads, stay in the log. A Value Change Dump (IEEE 1364) opens in any waveform viewer: "
        "a wire for each contact, sensor, coil, feed, lamp, relay, turnout and timer, in steps of 1 ms. "
        "A file that is there is never replaced.",
        epilog="examples:\n"
        "  reedway export evening.jsonl --csv evening.csv\n"
        "  reedway export evening.jsonl --vcd evening.vcd\n"
        "  reedway export evening.jsonl --csv - | grep pulse\n",
    )
    export.add_argument("log", metavar="LOG", help="session log")
    export.add_argument("--csv", metavar="FILE", help="write a table there; - is the terminal")
    export.add_argument("--vcd", metavar="FILE", help="write waveforms there; - is the terminal")
    export.add_argument("--json", action="store_true", help="print JSON")
    export.set_defaults(run=run_export)


def run_report(args: argparse.Namespace) -> int:
    """Print the report of each log."""
    if args.shadow or args.layout:
        return _run_shadow(args)
    found: list[dict[str, Any]] = []
    sessions = []
    bad = False
    for number, path in enumerate(args.logs):
        session = read_session(path)
        sessions.append(session)
        for line in [*session.complaints, *session.notices]:
            print(line, file=sys.stderr)
        bad = bad or bool(session.complaints)
        if args.json:
            found.append(figures(session))
        else:
            if number:
                print()
            for line in report_lines(session):
                print(line)
    trend = evenings_of(sessions) if len(sessions) > 1 else []
    if args.json:
        if trend:  # of all logs together, beside what the last one holds
            found[-1]["over_evenings"] = evenings_json(trend)
        print(json.dumps(found, ensure_ascii=False))
    elif trend:
        print()
        print("\n".join([*mixed_lines(sessions), *evenings_lines(trend, len(sessions))]))
    return int(bad)


def _run_shadow(args: argparse.Namespace) -> int:
    """What the logic would have done, beside what the relays did."""
    if not (args.shadow and args.layout):
        raise ReedwayError("--shadow and --layout FILE go together: the file tells what each input senses")
    layout = check_file(args.layout).layout
    found = {path: shadowing(path, layout) for path in args.logs}
    for one in found.values():
        for line in one.complaints:
            print(line, file=sys.stderr)
    if args.json:
        print(json.dumps([{"log": p} | shadow_json(one) for p, one in found.items()], ensure_ascii=False))
    else:
        for path, one in found.items():
            print("\n".join([path, *shadow_lines(one)]))
    return int(any(one.complaints for one in found.values()))


def run_export(args: argparse.Namespace) -> int:
    """Write one log in one or both forms."""
    wanted = [(f"--{form}", getattr(args, form)) for form in ("csv", "vcd") if getattr(args, form)]
    if not wanted:
        raise ReedwayError("say what to write: --csv FILE, --vcd FILE, or both")
    on_terminal = [out for _, out in wanted if out == TERMINAL]
    if on_terminal and (args.json or len(wanted) > 1):
        raise ReedwayError("- takes one export alone, and no --json")
    if len(wanted) == 2 and wanted[0][1] == wanted[1][1]:
        raise ReedwayError("--csv and --vcd name the same file; name two")
    for option, out in wanted:
        check_new(option, out, args.log)
    reader = LogReader(args.log)
    found: dict[str, Any] = {"log": args.log}
    for option, out in wanted:
        with new_file(option, out) as file:
            if option == "--csv":
                found["csv"] = {"file": out} | vars(write_csv(reader, file))
            else:
                found["vcd"] = {"file": out} | vars(write_vcd(args.log, file))
    if "csv" not in found:  # what cannot be read is said once, whatever was written
        for _ in reader:
            pass
    findings = reader.findings
    for line in [*findings.lines(), *map(str, findings.notices)]:
        print(line, file=sys.stderr)
    if args.json:
        print(json.dumps(found | {"complaints": findings.lines()}, ensure_ascii=False))
    elif not on_terminal:
        print("\n".join(_export_lines(found)))
    return int(bool(findings.serious))


def _export_lines(found: dict[str, Any]) -> list[str]:
    lines = []
    if "csv" in found:
        table = found["csv"]
        lines.append(f"{table['file']}: {counted(table['records'], 'record')}")
        if table["states"]:
            states = "a state" if table["states"] == 1 else f"{table['states']} states"
            lines.append(
                f"  the numbers of {states}, which only replay reads, are left out; the log has them"
            )
    if "vcd" in found:
        vcd = found["vcd"]
        lines.append(f"{vcd['file']}: {counted(vcd['wires'], 'wire')}, {counted(vcd['changes'], 'change')}")
    return lines
