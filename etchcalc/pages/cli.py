"""The command line: everything that the job sheet does, without a browser."""

import argparse
import json
import os
import sys
import threading
from collections.abc import Sequence
from dataclasses import asdict
from datetime import date
from importlib import import_module
from pathlib import Path

import etchcalc
from etchcalc import process  # noqa: F401  registers the formulas
from etchcalc.core import formula
from etchcalc.core.faults import BadInput
from etchcalc.core.units import show
from etchcalc.core.vocabulary import term
from etchcalc.job import (
    advice,
    answers,
    backup,
    clocks,
    commission_file,
    drawing,
    files,
    keeping,
    past,
    shop,
)
from etchcalc.job import record as records
from etchcalc.job.film import write_film
from etchcalc.job.known import known_to_file
from etchcalc.job.losses import looked_up
from etchcalc.job.plan import Plan, planned
from etchcalc.pages import sheet
from etchcalc.pages.live import shortcut


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code: 0 done, 2 bad input."""
    for stream in (sys.stdout, sys.stderr):  # a Windows console may not write µ or × otherwise
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8")
    options = _parser().parse_args(arguments)
    try:
        done = options.run(options)
        sys.stdout.flush()
        return done
    except BadInput as fault:
        print(fault, file=sys.stderr)
        return 2
    except BrokenPipeError:  # who read has read enough, as `head` does
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="etchcalc",
        description="A calculation workbook for photo-etching metal plates to commission.",
    )
    parser.add_argument("--version", action="version", version=f"etchcalc {etchcalc.__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    plan = commands.add_parser("plan", help="work a commission out and save its record")
    plan.add_argument(
        "file",
        nargs="?",
        type=Path,
        help="the commission (the built-in demonstration when none is given)",
    )
    plan.add_argument("--out", type=Path, metavar="DIR", help="folder for the record")
    plan.add_argument("--json", action="store_true", help="print the whole plan for machines")
    plan.set_defaults(run=_plan)
    work = commands.add_parser("work", help="answer one formula and show its working")
    work.add_argument("name", nargs="?", help="name of a formula; none lists them all")
    work.add_argument("inputs", nargs="*", metavar="input=value", help="such as depth=0.2mm")
    work.add_argument("--json", action="store_true", help="print it for machines")
    work.set_defaults(run=_work)
    new = commands.add_parser("new", help="write a commented commission to fill in")
    new.add_argument("file", type=Path)
    new.set_defaults(run=_new)
    live = commands.add_parser("open", help="open the workbooks, live")
    live.add_argument(
        "--shop", metavar="DIR", help="the shop's folder (else ETCHCALC_SHOP, else ~/etchcalc)"
    )
    live.add_argument(
        "--port", type=int, default=0, help="port on this machine (a free one when not said)"
    )
    live.add_argument("--no-browser", action="store_true", help="only print the address")
    live.add_argument(
        "--workshop",
        action="store_true",
        help="open to the workshop's network too, for a phone beside the bath",
    )
    live.add_argument(
        "--shortcut", action="store_true", help="only leave an icon for it on the desktop"
    )
    live.set_defaults(run=_open)
    _add_records(commands)
    return parser


def _add_records(commands) -> None:
    again = commands.add_parser(
        "again", help="work a saved record again and tell what would differ"
    )
    again.add_argument(
        "file", type=Path, metavar="RECORD.json", help="a record that was saved here"
    )
    again.set_defaults(run=_again)
    pack = commands.add_parser("backup", help="pack the whole shop's folder into one zip")
    pack.add_argument(
        "--shop", metavar="DIR", help="the shop's folder (else ETCHCALC_SHOP, else ~/etchcalc)"
    )
    pack.add_argument("file", type=Path, metavar="FILE.zip", help="an older one is replaced")
    pack.set_defaults(run=_backup)
    back = commands.add_parser("restore", help="bring a backup back into a new folder")
    back.add_argument("file", type=Path, metavar="FILE.zip")
    back.add_argument("folder", type=Path, metavar="DIR", help="a folder that is new or empty")
    back.set_defaults(run=_restore)


def _plan(options: argparse.Namespace) -> int:
    if options.file is None:
        text = shop.demo_files()["commission.toml"].decode()
        order, known = commission_file.parsed(text, shop.demo_folder()), None
    else:
        order = commission_file.opened(options.file)
        known = known_to_file(options.file, order)
    seen = keeping.version(options.out) if options.out and options.out.is_dir() else 0
    if options.out:  # the library of plots, while another process reads the drawing
        threading.Thread(target=import_module, args=("etchcalc.pages.figures",)).start()
    plan = looked_up(planned(order, drawing.measured(order), known=known))
    # before anything is printed: who reads only the first lines breaks the pipe, not the record
    told = _saved(plan, options.out, seen) if options.out else []
    if options.json:
        print(keeping.text(records.record(plan)), end="")
    else:
        print(order.title)
        for answer in answers.answers(plan):
            print(answers.plain(answer))
        for said in advice.advice(plan):
            print(f"{'!' if said.way_out else '-'} {said.text}")
        steps = records.steps(plan)
        short = dict.fromkeys(c["short"] for step in steps for c in step["cautions"])
        print("Usual cautions; local rules and licensed practice come first:")
        print(f"  {'; '.join(short)}.")
    for line in told:
        print(line, file=sys.stderr if options.json else sys.stdout)
    return 0


def _saved(plan: Plan, folder: Path, seen: int) -> list[str]:
    """Save record and film into a folder and return what is to be told of it."""
    told: list[str] = []
    saved = sheet.save(plan, folder, date.today().isoformat(), seen, told.append)
    told.append(f"Saved: {saved}")
    if plan.commission.artwork:
        made = write_film(plan, folder)
        told.append(f"Film: {' and '.join(path.name for path in made.paths)} beside it")
    return told


def _work(options: argparse.Namespace) -> int:
    if options.name is None:
        return _list(options.json)
    if options.name not in formula.REGISTERED:
        raise BadInput(f"No formula is named “{options.name}”; `etchcalc work` lists them all.")
    entry = formula.REGISTERED[options.name]
    inputs = _inputs(entry, options.inputs)
    working = formula.working(entry.name, inputs)
    result = entry.function(**inputs).to(term(entry.name).unit)
    if options.json:
        numbers = {"value": float(result.magnitude), "unit": f"{result.units:~}", **asdict(working)}
        print(json.dumps(numbers, ensure_ascii=False, indent=1))
        return 0
    print(f"{working.title}: {working.meaning}")
    print(sheet.sum_text(asdict(working)))
    for source in working.sources:
        print(f"  source: {source}")
    return 0


def _inputs(entry: formula.Formula, typed: Sequence[str]) -> dict:
    """Return a formula's inputs from name=value words; start values where none is typed."""
    faults, said = [], {}
    for word in typed:
        name, equals, text = word.partition("=")
        if not equals or name not in entry.inputs:
            faults.append(
                f"“{word}” is not an input of {entry.name}, which takes {', '.join(entry.inputs)}."
            )
            continue
        try:
            said[name] = term(name).read(text)
        except BadInput as fault:
            faults.append(str(fault))
    for name in entry.inputs:
        if (
            name not in said
            and term(name).start is None
            and not any(w.startswith(f"{name}=") for w in typed)
        ):
            faults.append(f"{name} is missing; {term(name).accepted()}.")
    if faults:
        raise BadInput("; ".join(f.rstrip(".") for f in faults) + ".")
    starts = {n: term(n).quantity(float(term(n).start or 0)) for n in entry.inputs if n not in said}
    return {name: said.get(name, starts.get(name)) for name in entry.inputs}


def example(name: str) -> str:
    """Return a text that may be typed for an input."""
    entry = term(name)
    start = entry.start if entry.start is not None else max(entry.low, 1.0)
    return show(entry.quantity(start), entry.kind, fixed=False)


def _list(as_json: bool) -> int:
    if as_json:
        entries = {
            e.name: {
                "meaning": term(e.name).meaning,
                "inputs": {
                    n: {
                        "meaning": term(n).meaning,
                        "unit": f"{term(n).unit:~}",
                        "start": term(n).start,
                    }
                    for n in e.inputs
                },
            }
            for e in formula.REGISTERED.values()
        }
        print(json.dumps(entries, ensure_ascii=False, indent=1))
        return 0
    for entry in sorted(formula.REGISTERED.values(), key=lambda e: e.name):
        print(f"{entry.name}: {term(entry.name).meaning}")
        print(f"    {' '.join(f'{n}=…' for n in entry.inputs)}")
    return 0


def _new(options: argparse.Namespace) -> int:
    if options.file.exists():
        raise BadInput(f"{options.file} is there already; give the name of a file that is not.")
    files.write_whole(options.file, commission_file.blank(clocks.own_zone()).encode())
    print(f"Written: {options.file}. Fill it in, then: etchcalc plan {options.file} --out FOLDER")
    return 0


def _again(options: argparse.Namespace) -> int:
    folder = options.file.resolve().parent
    if folder.name == keeping.EARLIER:  # its drawing lies beside the newest
        folder = folder.parent
    try:
        record = past.opened(options.file)
        found = past.worked_again(record, folder)
        saved = f", saved {record['saved']}" if record["saved"] else ""
    except (KeyError, TypeError, ValueError, AttributeError) as fault:
        if isinstance(fault, BadInput):
            raise
        raise BadInput(
            f"The record {options.file.name} is damaged; give an earlier one, of the folder “{keeping.EARLIER}”."
        ) from None
    count = f"{len(found)} figure{'s' if len(found) > 1 else ''} would differ"
    print(f"{record['title']}{saved}: {count if found else 'every figure the same'}.")
    for difference in found:
        print(f"- {difference}")
    return 0


def _backup(options: argparse.Namespace) -> int:
    root = shop.shop_folder(options.shop)
    if not root.is_dir():
        raise BadInput(f"There is no shop in {root}; give its folder with --shop.")
    if options.file.suffix.lower() != ".zip":
        raise BadInput(f"“{options.file.name}” is no name of a zip; give one such as shop.zip.")
    count = backup.packed(root, options.file)
    print(f"Packed: {count} files of {root} into {options.file}. Keep a copy on another disk.")
    return 0


def _restore(options: argparse.Namespace) -> int:
    count = backup.unpacked(options.file, options.folder)
    print(f"Brought back: {count} files, in {options.folder}.")
    print(f'Open it with: etchcalc open --shop "{options.folder}"')
    return 0


def _open(options: argparse.Namespace) -> int:
    if options.shortcut:
        print(f"Left on the desktop: {shortcut.left(options.shop)}")
        return 0
    from etchcalc.pages.live import opener  # a second's worth of server, for this command only

    opener.open_workbooks(
        shop.shop_folder(options.shop),
        port=options.port,
        browser=not options.no_browser,
        workshop=options.workshop,
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
