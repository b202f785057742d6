"""Folders and variables in which the server runs as if nothing else were installed.

A maker's machine may have Jupyter set up in any way: another kernel, another
key map, extensions, a start-up script. None of it may reach a workbook, and
nothing that a workbook does may reach it.
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

#: The kernel that the workbooks' metadata ask for.
KERNEL = "python3"

# An expression without a value, so that it leaves neither a name nor an output.
_WARM_UP = "__import__('etchcalc.pages.live.warm') and None"

#: Extensions of the page that are installed apart from JupyterLab and wanted here.
WANTED_EXTENSIONS = frozenset({"@jupyter-widgets/jupyterlab-manager", "anywidget", "etchcalc-live"})

_HERE = Path(__file__).resolve().parent

#: Variables that would bring a maker's own set-up in.
_FOREIGN = ("JUPYTER", "IPYTHON", "PYTHONSTARTUP")


@dataclass(frozen=True)
class Surroundings:
    """The folders that one run of the server uses, all under one that is thrown away.

    Parameters
    ----------
    folder
        The folder that holds them; private to the user, and empty.
    """

    folder: Path

    @property
    def labextensions(self) -> Path:
        """Return the folder of our own extension of the page; part of the package."""
        return _HERE / "labextension"

    def subfolder(self, name: str) -> Path:
        """Return the folder for `name`, made if need be."""
        path = self.folder / name
        path.mkdir(exist_ok=True)
        return path

    @contextlib.contextmanager
    def entered(self, shop: Path) -> Iterator[None]:
        """Set the process's environment, which the kernels inherit; put it back at the end.

        Parameters
        ----------
        shop
            The shop's folder, for the workbooks to find as ``ETCHCALC_SHOP``.
        """
        before = dict(os.environ)
        for name in before:
            if name.startswith(_FOREIGN):
                del os.environ[name]
        os.environ.update(
            ETCHCALC_SHOP=str(shop),
            IPYTHONDIR=str(self.subfolder("ipython")),
            JUPYTER_DATA_DIR=str(self.subfolder("data")),
            # Looked at before any other place, so that our kernel is the one found.
            JUPYTER_PATH=str(self.folder),
            JUPYTER_RUNTIME_DIR=str(self.subfolder("runtime")),
            # With this, Jupyter looks for settings in one fresh folder and nowhere
            # else: not in the user's, the environment's or the machine's.
            JUPYTER_NO_CONFIG="1",
        )
        try:
            with _settings_in_place():
                yield
        finally:
            os.environ.clear()
            os.environ.update(before)

    def write_kernel(self) -> None:
        """Describe the kernel as the interpreter that runs this."""
        kernel = self.subfolder("kernels") / KERNEL
        description = {
            "argv": [
                *(sys.executable, "-m", "ipykernel_launcher", "-f", "{connection_file}"),
                "--IPKernelApp.log_level=ERROR",
                f"--IPKernelApp.exec_lines={_WARM_UP}",
            ],
            "display_name": "etchcalc",
            "language": "python",
            "interrupt_mode": "signal",
            "metadata": {"debugger": False},
        }
        kernel.mkdir(exist_ok=True)
        (kernel / "kernel.json").write_text(json.dumps(description), encoding="utf-8")


@contextlib.contextmanager
def _settings_in_place() -> Iterator[None]:
    """Lay our settings into the one folder where Jupyter looks, while it runs."""
    from jupyter_core.paths import jupyter_config_dir

    folder = Path(jupyter_config_dir())
    try:
        shutil.copytree(_HERE / "lab", folder, dirs_exist_ok=True)
        _leave_out_other_extensions(folder / "labconfig" / "page_config.json")
        yield
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _leave_out_other_extensions(page_config: Path) -> None:
    """Add to the page's settings that extensions which we do not want stay off."""
    from jupyter_core.paths import jupyter_path
    from jupyterlab_server.config import get_federated_extensions

    config = json.loads(page_config.read_text(encoding="utf-8"))
    for name in get_federated_extensions(jupyter_path("labextensions")):
        if name not in WANTED_EXTENSIONS:
            config["disabledExtensions"][name] = True
    page_config.write_text(json.dumps(config), encoding="utf-8")
