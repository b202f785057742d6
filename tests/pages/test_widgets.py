"""A panel is shown by far fewer messages than a kernel's socket keeps."""

from collections import Counter

import comm
import ipywidgets
import pytest
from comm.base_comm import BaseComm

from etchcalc.job.shop import Shop
from etchcalc.pages import panels
from etchcalc.pages.panels import widgets
from etchcalc.pages.panels.controls import styled

# ZMQ_SNDHWM and ZMQ_RCVHWM of libzmq's zmq_setsockopt(3): 1000 unless set; beyond, a publisher drops
KEPT = 1000
PANELS = (
    panels.JobSheet, panels.FilmDesk, panels.BathAndTime, panels.Bench, panels.RecordsAndPrice,
    panels.RunningEtch,
)  # fmt: skip


@pytest.fixture
def sent(monkeypatch):
    """Count the messages that widgets made from here on send."""
    found: Counter = Counter()

    class Counted(BaseComm):
        def publish_msg(self, msg_type, *_, **__):
            found[msg_type] += 1

    monkeypatch.setattr(comm, "create_comm", Counted)
    return found


@pytest.mark.parametrize("panel", PANELS)
def test_opening_a_panel_fills_no_more_than_half_of_what_a_socket_keeps(panel, sent, tmp_path):
    panel(Shop(tmp_path))
    assert 50 < sum(sent.values()) < KEPT / 2


def test_a_widget_sends_itself_and_nothing_else(sent):
    widgets.Text(classes="one two")  # the first of a page brings what all share
    sent.clear()
    widgets.Text(value="12 thou", classes="one two")
    assert sent == {"comm_open": 1}


def test_a_widget_of_the_toolkit_alone_sends_more(sent):
    """What the counts above are for: without this, they would hold of themselves."""
    ipywidgets.Text(value="12 thou").add_class("one").add_class("two")
    assert sum(sent.values()) == 5


def test_classes_come_at_the_start_and_more_at_once(sent):
    box = widgets.VBox(classes="one two")
    sent.clear()
    assert styled(box, "three", "", "four")._dom_classes == ("one", "two", "three", "four")
    assert sum(sent.values()) == 1


@pytest.mark.parametrize("panel", PANELS)
def test_nobody_has_changed_what_all_share(panel, tmp_path):
    shown = panel(Shop(tmp_path))
    shared = shown.box.layout
    assert shared is widgets.VBox().layout
    plain = ipywidgets.Layout()
    assert [n for n in plain.keys if n[0] != "_" and getattr(shared, n) != getattr(plain, n)] == []
