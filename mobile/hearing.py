"""Keeps the app hearing its page, whatever the page answers.

Flet reads what the page says in one loop, and ends that loop for good where an answer to a
method call (a scroll, a focus) comes for a control that has left the screen meanwhile: from
then on no press is heard, and the screen stands still. Here such an answer goes to whoever
waits for it, or nowhere; and a property that cannot be taken over is told on the console.
"""

from __future__ import annotations

import traceback
from typing import Any

from flet.messaging.session import Session

__all__ = ["use"]

_apply_patch = Session.apply_patch


def _answered(self: Any, _: int, call_id: str, result: Any, error: str | None) -> None:
    """The page's answer to a method call: for the call, whether or not its control is still there."""
    waiting = self._Session__method_calls.pop(call_id, None)
    if waiting is not None:
        self._Session__method_call_results[waiting] = (result, error)
        waiting.set()


def _changed(self: Session, control_id: int, patch: dict[str, Any]) -> None:
    """What the page changed of a control."""
    try:
        _apply_patch(self, control_id, patch)
    except Exception:  # noqa: BLE001  one property less is no reason to hear no press any more
        traceback.print_exc()


def use() -> None:
    """Have Flet's sessions hear in this way."""
    Session.handle_invoke_method_results = _answered  # type: ignore[assignment, method-assign]
    Session.apply_patch = _changed  # type: ignore[method-assign]
