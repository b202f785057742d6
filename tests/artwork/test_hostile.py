"""Hostile and broken files: each ends in one sentence, or in a measure where it is harmless."""

import ctypes
import os
import struct
import sys
import tempfile
from pathlib import Path

import pytest

sys.path.append(str(Path(__file__).parent))
import hostile

from etchcalc.artwork.worker import Worker

pytestmark = pytest.mark.skipif(
    not sys.platform.startswith("linux"), reason="pipes, /proc and inotify"
)
MOST_MIB = 1024  # the limit that the process sets itself is twice this
_OPENED, _WRITTEN, _MADE, _IS_FOLDER = 0x20, 0x2, 0x100, 0x40000000


class Watch:
    """What happens to the files in folders, as the system tells it (inotify)."""

    def __init__(self, *folders):
        system = ctypes.CDLL(None, use_errno=True)
        self._file = system.inotify_init1(os.O_NONBLOCK | os.O_CLOEXEC)
        self._folders = {
            system.inotify_add_watch(self._file, bytes(folder), _OPENED | _WRITTEN | _MADE): folder
            for folder in folders
        }
        assert self._file >= 0 and min(self._folders) >= 0

    def seen(self):
        """Return the files that were opened, written or made since."""
        found = set()
        while True:
            try:
                data = os.read(self._file, 2**16)
            except BlockingIOError:
                return found
            while data:
                number, kind, _, length = struct.unpack_from("iIII", data)
                name = data[16 : 16 + length].rstrip(b"\0").decode("utf-8", "surrogateescape")
                data = data[16 + length :]
                if not kind & _IS_FOLDER:
                    found.add(self._folders[number] / name)

    def close(self):
        os.close(self._file)


@pytest.fixture(scope="module")
def ground(tmp_path_factory):
    """A worker whose home, temporary and working folders are empty, and the folders."""
    ground = tmp_path_factory.mktemp("hostile")
    folders = {name: ground / name for name in ("home", "temporary", "cwd", "baits", "files")}
    for folder in folders.values():
        folder.mkdir()
    patch = pytest.MonkeyPatch()
    patch.chdir(folders["cwd"])
    for key in ("HOME", "USERPROFILE", "XDG_CACHE_HOME", "XDG_CONFIG_HOME"):
        patch.setenv(key, str(folders["home"]))
    patch.setenv("TMPDIR", str(folders["temporary"]))
    patch.setattr(tempfile, "tempdir", None)
    for key in ("http_proxy", "https_proxy", "all_proxy"):
        patch.delenv(key, raising=False)
        patch.delenv(key.upper(), raising=False)
    worker = Worker()
    yield worker, folders
    worker.close()
    patch.undo()


def test_hostile_files(ground):
    worker, folders = ground
    watch = Watch(folders["baits"], folders["home"], folders["cwd"], folders["files"])
    faults, peak, many = [], 0.0, 0
    with hostile.waiting() as (server, url):
        bait = hostile.lay_out(folders["baits"], url)
        watch.seen()
        for case in hostile.cases(bait):
            if case.name in hostile.SLOW:
                continue
            many += 1
            path = folders["files"] / case.name
            path.write_bytes(case.data)
            watch.seen()
            outcome = hostile.Outcome(worker, path, case.asked)
            wrong = [outcome.wrong(case.ends, case.data)]
            if outcome.crashed:
                wrong.append(f"crashed: {outcome.said}")
            if others := watch.seen() - {path}:
                wrong.append(f"touched {sorted(others)}")
            if hostile.was_asked(server):
                wrong.append("asked the server")
            if path.read_bytes() != case.data:
                wrong.append("was written to")
            faults += [f"{case.name}: {fault}" for fault in wrong if fault]
            peak = max(peak, hostile.peak_mib(worker))
            path.unlink()
    watch.close()
    assert not faults, "\n".join(faults)
    assert many > 500
    assert peak < MOST_MIB
    for empty in ("home", "temporary", "cwd", "files"):
        assert list(folders[empty].iterdir()) == []


def test_what_is_no_file_is_not_opened(ground, tmp_path):
    worker, _ = ground
    faults = []
    for path, says in hostile.places(tmp_path):
        outcome = hostile.Outcome(worker, path)
        faults += [f"{path.name!r}: {fault}" for fault in [outcome.wrong(says)] if fault]
        if outcome.crashed or "4711" in outcome.said:
            faults.append(f"{path.name!r}: {outcome.said}")
    assert not faults, "\n".join(faults)


def test_the_watch_sees(tmp_path):
    watch = Watch(tmp_path)
    (tmp_path / "a").write_text("a")
    assert watch.seen() == {tmp_path / "a"}
    (tmp_path / "a").read_text()
    assert watch.seen() == {tmp_path / "a"}
    assert watch.seen() == set()
    watch.close()
