"""The toolkit's widgets, each shown by as few messages as it can be.

A kernel's socket keeps a thousand messages for a page that is busy, and drops what lies
beyond without a word: that page never comes live. A widget of the toolkit sends itself, a
layout, a style and each of its classes, a panel of a hundred boxes so a thousand messages.
Here it sends itself; layout and style are shared, the classes are in it from the start.
"""

import functools

import ipywidgets
from ipywidgets import Layout, Widget
from traitlets import default

__all__ = [
    "HTML", "Box", "Button", "Checkbox", "Dropdown", "FileUpload", "FloatProgress", "FloatSlider",
    "HBox", "Layout", "Text", "ToggleButtons", "VBox", "Widget",
]  # fmt: skip


@functools.cache
def _shared(kind: type[Widget]) -> Widget:
    return kind()


class _Light(Widget):
    """What is the same for all: `classes`, the style classes, parted by spaces.

    Who changes the layout of one widget gives it its own, or changes that of all.
    """

    def __init__(self, *args, classes: str = "", **traits):
        super().__init__(*args, _dom_classes=tuple(classes.split()), **traits)

    @default("layout")
    def _layout_of_all(self) -> Widget:
        return _shared(Layout)

    @default("style")
    def _style_of_all(self) -> Widget:
        return _shared(self.traits()["style"].klass)


class HTML(_Light, ipywidgets.HTML):
    """Words, figures and pictures."""


class Box(_Light, ipywidgets.Box):
    """A box that its class lays out."""


class HBox(_Light, ipywidgets.HBox):
    """Beside each other."""


class VBox(_Light, ipywidgets.VBox):
    """Below each other."""


class Text(_Light, ipywidgets.Text):
    """A box to type in."""


class Button(_Light, ipywidgets.Button):
    """A button."""


class ToggleButtons(_Light, ipywidgets.ToggleButtons):
    """One of a few words."""


class Dropdown(_Light, ipywidgets.Dropdown):
    """One of many words."""


class Checkbox(_Light, ipywidgets.Checkbox):
    """Yes or no."""


class FloatSlider(_Light, ipywidgets.FloatSlider):
    """A handle on a track."""


class FloatProgress(_Light, ipywidgets.FloatProgress):
    """How far long work has come."""


class FileUpload(_Light, ipywidgets.FileUpload):
    """A file that is brought."""
