"""What the page answers never keeps the app from hearing what comes after it."""

from __future__ import annotations

import asyncio

import flet as ft
import pytest
from flet.messaging.session import Session

from mobile import hearing

BEFORE = Session.handle_invoke_method_results, Session.apply_patch


@pytest.fixture
def session(monkeypatch: pytest.MonkeyPatch) -> Session:
    for name, now in zip(("handle_invoke_method_results", "apply_patch"), BEFORE, strict=True):
        monkeypatch.setattr(Session, name, now)
    hearing.use()
    made = Session.__new__(Session)
    made._Session__index = {}
    made._Session__method_calls, made._Session__method_call_results = {}, {}
    return made


def test_an_answer_for_a_control_that_has_left_reaches_who_waits_for_it(session: Session) -> None:
    waiting = asyncio.Event()
    session._Session__method_calls["call"] = waiting
    session.handle_invoke_method_results(13510, "call", None, "gone")
    assert waiting.is_set() and session._Session__method_call_results == {waiting: (None, "gone")}
    session.handle_invoke_method_results(13510, "call", None, None)  # nobody waits any more


def test_a_property_that_cannot_be_taken_over_is_told_and_no_more(
    session: Session, capsys: pytest.CaptureFixture[str]
) -> None:
    one = ft.Text("3")
    session._Session__index[7] = one
    session.apply_patch(7, {"value": "4"})
    assert one.value == "4"
    session.apply_patch(7, ["value"])  # no mapping
    assert "Traceback" in capsys.readouterr().err
