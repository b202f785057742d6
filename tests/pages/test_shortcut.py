"""The icon on the desktop: of each system, quoted, where the desktop really is."""

import configparser
import os
import shlex
import sys

import pytest

from etchcalc.core.faults import BadInput
from etchcalc.pages.live.shortcut import left


def test_linux_gets_a_desktop_entry_by_the_specification(tmp_path):
    path = left("/tmp/my shop $1%", system="linux", home=tmp_path)
    assert path == tmp_path / "Desktop/etchcalc.desktop" and os.access(path, os.X_OK)
    entry = configparser.RawConfigParser()
    entry.optionxform = str
    entry.read(path)
    said = dict(entry["Desktop Entry"])
    assert said["Type"] == "Application" and said["Name"] == "etchcalc"
    # Desktop Entry Specification: in quotes, $ ` " and \ escaped, % doubled
    assert said["Exec"].startswith(f'"{sys.executable}" "-m" "etchcalc.pages.cli" "open" "--shop"')
    assert "shop \\$1%%" in said["Exec"]
    assert (tmp_path / ".local/share/icons/etchcalc.svg").is_file()
    assert (
        tmp_path / ".local/share/applications/etchcalc.desktop"
    ).read_bytes() == path.read_bytes()


def test_a_desktop_of_another_name_is_found(tmp_path):
    (tmp_path / ".config").mkdir()
    (tmp_path / ".config/user-dirs.dirs").write_text('XDG_DESKTOP_DIR="$HOME/Schreibtisch"\n')
    assert left(system="linux", home=tmp_path).parent.name == "Schreibtisch"


def test_a_mac_and_windows_get_a_file_to_click(tmp_path):
    mac = left("my shop", system="darwin", home=tmp_path)
    assert mac.suffix == ".command" and os.access(mac, os.X_OK)
    words = shlex.split(mac.read_text().splitlines()[1])
    assert words[:5] == ["exec", sys.executable, "-m", "etchcalc.pages.cli", "open"] and words[
        -1
    ].endswith("my shop")
    windows = left(system="win32", home=tmp_path)
    assert windows.suffix == ".bat" and windows.read_bytes().endswith(b'"open"\r\n')


def test_a_desktop_that_cannot_be_written_is_said(tmp_path):
    (tmp_path / "Desktop").write_text("a file, no folder")
    with pytest.raises(BadInput, match="could not be saved"):
        left(system="darwin", home=tmp_path)
