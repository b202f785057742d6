"""The shop's own prices written: lines put into `prices.toml`, its remarks kept."""

import re
from pathlib import Path
from typing import Any

import tomlkit

from etchcalc.core.faults import BadInput
from etchcalc.job import prices
from etchcalc.job.files import text_of, write_whole


def keep(root: Path, lines: dict[str, str]) -> Path:
    """Put price lines into the shop's own file, begun where there is none; return the file.

    Parameters
    ----------
    root : Path
        The shop's folder.
    lines : dict of str to str
        As typed; the file's other lines stay as they are.

    Raises
    ------
    BadInput
        There is nothing to write, the file or a line cannot be meant, or the folder cannot be
        written; the file is untouched.
    """
    if not lines:
        raise BadInput("Nothing was typed here that the shop has not; type a price first.")
    path = root / prices.NAME
    there = path.is_file()
    before = prices.opened(root)
    text = text_of(path, "The file of prices") if there else prices.blank()
    for name in lines:
        if name not in before:  # the line that waits to be filled in keeps its place and remark
            text = re.sub(rf'(?m)^# ({name} = ")[^"\n]*', r"\1", text, count=1)
    document: Any = tomlkit.parse(text)
    table = document.setdefault("price", tomlkit.table())
    for name in prices.PROFIT if any(name in lines for name in prices.PROFIT) else ():
        if name not in lines:
            table.pop(name, None)  # one of them counts
    for name, typed in lines.items():
        table[name] = typed
    written = tomlkit.dumps(document)
    prices.understood({}, prices.parsed(written))
    write_whole(path, written.encode())
    return path
