"""Every hostile and broken file of the tests read once, the slow ones too.

``files``
    How many are asked for.
``refused``, ``read``
    How many end in a sentence, and how many in a measure, for they are harmless.
``crashed``
    How many end the process, or are ended because nothing is heard of them for
    20 s; their names follow on a line of their own. They are among the refused.
``wrong``
    How many end otherwise than the tests say.
``slowest_seconds``, ``peak_mib``
    The longest that any takes, its name in brackets; the most memory that the
    process has taken where it did not end.
``peak_mib_crashes_included``
    The same where it ended too: its own limit is 2 GiB.
"""

import importlib.util
import resource
import sys
from pathlib import Path
from types import ModuleType

import measuring

from etchcalc.artwork.worker import Worker

ARTWORK = Path(__file__).parents[1] / "artwork"


def of_the_tests() -> ModuleType:
    """Return the module that makes the files, which has this one's name."""
    sys.path.append(str(ARTWORK))
    spec = importlib.util.spec_from_file_location("hostile_files", ARTWORK / "hostile.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def main() -> None:
    """Ask for each, and print."""
    hostile = of_the_tests()
    files = read = wrong = 0
    peak = 0.0
    crashed, slowest = [], (0.0, "")
    worker = Worker()
    with measuring.fresh_folder() as folder, hostile.waiting() as (_, url):
        baits = folder / "baits"
        baits.mkdir()
        for case in hostile.cases(hostile.lay_out(baits, url)):
            path = folder / case.name
            path.write_bytes(case.data)
            outcome = hostile.Outcome(worker, path, case.asked)
            path.unlink()
            files += 1
            read += outcome.area is not None
            if fault := outcome.wrong(case.ends, case.data):
                wrong += 1
                print(f"{case.name}: {fault}", file=sys.stderr)
            if outcome.crashed:
                crashed.append(case.name)
            peak = max(peak, hostile.peak_mib(worker))
            slowest = max(slowest, (outcome.seconds, case.name))
        worker.close()
    measuring.tell("files", files, 0)
    measuring.tell("refused", files - read, 0)
    measuring.tell("read", read, 0)
    measuring.tell("crashed", len(crashed), 0)
    print(" ".join(crashed))
    measuring.tell("wrong", wrong, 0)
    print(f"slowest_seconds: {slowest[0]:.1f} ({slowest[1]})")
    measuring.tell("peak_mib", peak, 0)
    largest = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    measuring.tell("peak_mib_crashes_included", largest, 0)


if __name__ == "__main__":
    main()
