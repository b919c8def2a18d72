"""Screens are driven without their pauses: nobody's finger needs room between two presses here."""

import pytest

from mobile.screens import effect


@pytest.fixture(autouse=True)
def _no_pauses(monkeypatch):
    monkeypatch.setattr(effect, "REST", 0.0)
    monkeypatch.setattr(effect, "PAUSE", 0.0)
