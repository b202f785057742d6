"""The record under attack: killed, disk full, read-only, two at once; and a thousand jobs searched.

``python tests/benchmarks/saving.py [KILLS SAVES JOBS]`` prints:

``kills``
    How often a process that saved again and again was killed (SIGKILL) at a random moment.
``steps_killed``
    How often it was killed at a chosen one: before and after each call that touches the disk.
``broken_records``
    How often the folder then held no whole record, no page that belongs to it, or a left-over.
``lost_versions``
    Versions whose saving was reported done, alone or by two processes at once, and which are gone.
``full_disk_broken``, ``read_only_broken``
    1 where a save that could not be broke the old record or said nothing; how it was brought
    about follows in brackets.
``index_ms``, ``search_ms``
    Building the index of a shop, and opening it again and searching.
"""

import contextlib
import json
import os
import random
import resource
import signal
import subprocess
import sys
import tempfile
import time
import warnings
from pathlib import Path

from etchcalc.core.faults import BadInput
from etchcalc.job import keeping, memory, past

RECORDS = Path(__file__).parents[1] / "records"
FILLING = "a groove " * 12_000  # as large as a real record


def save(folder: Path, mark: str) -> keeping.Kept:
    """Save a record and a page that carry a mark at both ends."""
    record = {"schema": 4, "title": mark, "words": {}, "filling": FILLING, "end": mark}
    return keeping.keep(folder, record, f"<html>{mark}{FILLING}{mark}</html>")


def apart(work) -> int:
    """Run work in a forked process that never returns; its number."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # numpy's threads do nothing meanwhile
        child = os.fork()
    if child:
        return child
    with contextlib.suppress(BaseException):
        work()
    os._exit(0)


def faults(folder: Path, told: set[int]) -> tuple[int, int]:
    """Return whether a folder is broken, and how many of the versions told of are gone."""
    try:
        return _faults(folder, told)
    except ValueError:  # no JSON
        return 1, len(told)


def _faults(folder: Path, told: set[int]) -> tuple[int, int]:
    broken = 0
    for path in (folder / keeping.RECORD, folder / keeping.PAGE):
        text = path.read_text("utf-8") if path.exists() else ""
        broken |= bool(text) and text.count(FILLING) != 1
    if (folder / keeping.RECORD).exists():
        broken |= not keeping.settled(folder)
        record = json.loads((folder / keeping.RECORD).read_bytes())
        broken |= record["title"] != record["end"]
        broken |= (folder / keeping.PAGE).read_text("utf-8").count(record["title"]) != 2
    there = keeping.versions(folder)
    whole = {n for n, path in there.items() if json.loads(path.read_bytes())["version"] == n}
    return int(broken), len(told - whole)


def killed(folder: Path, times: int) -> tuple[int, int]:
    """Kill a process that saves again and again; return broken records and lost versions."""
    chance, told, broken, lost = random.Random(7), set(), 0, 0
    for number in range(times):
        reader, writer = os.pipe()

        def work(number=number, writer=writer):
            for again in range(10_000):
                done = save(folder, f"kill {number} save {again} ")
                os.write(writer, f"{done.version}\n".encode())

        child = apart(work)
        os.close(writer)
        time.sleep(chance.uniform(0, 0.06))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        with os.fdopen(reader) as said:
            told |= {int(line) for line in said.read().splitlines()}
        now = faults(folder, told)
        broken, lost = broken + now[0], max(lost, now[1])
    save(folder, "the last ")
    return broken + left_over(folder), lost


def killed_at_each_step(folder: Path) -> tuple[int, int, int]:
    """Kill a save before and after each of its calls; return kills, broken records, lost versions."""
    told, broken, lost = {save(folder, "the first ").version}, 0, 0
    for step in range(1, 200):
        count = 0

        def counted(call, step=step):
            def instead(*given, **named):
                nonlocal count
                for after in (False, True):
                    count += 1
                    if count == step:
                        os.kill(os.getpid(), signal.SIGKILL)
                    if not after:
                        answer = call(*given, **named)
                return answer

            return instead

        def work(step=step, counted=counted):
            for name in ("open", "replace", "fsync", "unlink", "close", "fdopen", "write"):
                setattr(os, name, counted(getattr(os, name)))
            save(folder, f"step {step} ")

        _, status = os.waitpid(apart(work), 0)
        now = faults(folder, told)
        broken, lost = broken + now[0], max(lost, now[1])
        if not os.WIFSIGNALED(status):
            save(folder, "the last ")
            return step - 1, broken + left_over(folder), lost
        told.add(keeping.version(folder))
    raise RuntimeError("a save has no end")


def left_over(folder: Path) -> int:
    """Return whether anything but records, pages and the lock lies in a folder."""
    names = {p.name for p in folder.iterdir()} | {p.name for p in folder.glob("earlier/.*")}
    return int(names != {".lock", "earlier", keeping.RECORD, keeping.PAGE})


def two_at_once(folder: Path, each: int) -> tuple[int, int]:
    """Let two processes save the same job; return broken records and lost versions."""

    def work(name: str):
        for number in range(each):
            save(folder, f"{name} {number} ")

    for child in [apart(lambda name=name: work(name)) for name in ("left", "right")]:
        os.waitpid(child, 0)
    titles = [json.loads(p.read_bytes())["title"] for p in keeping.versions(folder).values()]
    wanted = {f"{name} {number} " for name in ("left", "right") for number in range(each)}
    return faults(folder, set(range(1, 2 * each + 1)))[0], len(wanted - set(titles))


def refused(folder: Path, before: str) -> int:
    """Return whether a save that cannot be is anything but one sentence and the old record."""
    try:
        save(folder, "too much ")
    except BadInput as fault:
        said = "could not be saved" in str(fault)
    else:
        said = False
    broken, lost = faults(folder, {1})
    title = json.loads((folder / keeping.RECORD).read_bytes())["title"]
    return int(not said or broken or lost or title != before)


@contextlib.contextmanager
def small_disk(size: str):
    """Give the folder of a small disk in memory; None where that is not allowed."""
    with tempfile.TemporaryDirectory() as place:
        given = subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={size}", "none", place],
                               capture_output=True, check=False)  # fmt: skip
        try:
            yield None if given.returncode else Path(place)
        finally:
            if not given.returncode:
                subprocess.run(["umount", place], check=True)


def full_disk(folder: Path) -> tuple[int, str]:
    """Save on a disk that is full; return whether the old record broke, and how it was full."""
    with small_disk("1m") as disk:
        if disk:
            broken = 0
            for room in range(0, 400, 20):  # it gets full at every place of a save
                job = disk / f"job{room}"
                save(job, "kept ")
                free = os.statvfs(disk).f_bavail * os.statvfs(disk).f_frsize
                (disk / "filling").write_bytes(b"0" * max(free - room * 1024, 0))
                if room * 1024 < 3 * len(FILLING):
                    broken |= refused(job, "kept ")
                (disk / "filling").unlink()
                for path in sorted(job.rglob("*"), reverse=True):
                    path.rmdir() if path.is_dir() else path.unlink()
            return broken, "a small disk"

    def work():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (50_000, 50_000))
        os._exit(2 + refused(folder, "kept "))

    save(folder, "kept ")
    return os.waitstatus_to_exitcode(os.waitpid(apart(work), 0)[1]) - 2, "a limit on files"


def read_only(folder: Path) -> tuple[int, str]:
    """Save into a folder that cannot be written."""
    if os.geteuid():
        save(folder, "kept ")
        folder.chmod(0o500)
        try:
            return refused(folder, "kept "), "its rights"
        finally:
            folder.chmod(0o700)
    with small_disk("2m") as disk:
        if not disk:
            return 0, "not run: root may write everywhere here"
        save(disk, "kept ")
        subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
        return refused(disk, "kept "), "a read-only disk"


def many_jobs(root: Path, count: int) -> tuple[float, float]:
    """Return ms for building the index of so many jobs, and for opening and searching it."""
    record = past.opened(RECORDS / "schema-3-drawing.json")
    for number in range(count):
        folder = root / "commissions" / f"job-{number}"
        folder.mkdir(parents=True)
        record |= {"title": f"Plate {number}", "saved": f"20{10 + number % 20}-03-04"}
        (folder / keeping.RECORD).write_text(keeping.text(record), encoding="utf-8")
    times = []
    for _ in range(4):
        start = time.perf_counter()
        found = memory.find(memory.jobs(root), "orrin plate", alloy="brass", since="2012")
        times.append(1000 * (time.perf_counter() - start))
    if not found:
        raise RuntimeError("nothing was found")
    return times[0], max(times[1:])


def main(kills: int = 200, saves: int = 50, jobs: int = 1000) -> None:
    """Attack, and print."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        broken, lost = killed(folder / "killed", kills)
        steps, more_broken, more_lost = killed_at_each_step(folder / "steps")
        both = two_at_once(folder / "two", saves)
        print(f"kills: {kills}")
        print(f"steps_killed: {steps}")
        print(f"broken_records: {broken + more_broken + both[0]}")
        print(f"lost_versions: {lost + more_lost + both[1]}")
        print("full_disk_broken: {} ({})".format(*full_disk(folder / "full")))
        print("read_only_broken: {} ({})".format(*read_only(folder / "rights")))
        built, searched = many_jobs(folder / "shop", jobs)
        print(f"index_ms: {built:.0f}")
        print(f"search_ms: {searched:.0f}")


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
