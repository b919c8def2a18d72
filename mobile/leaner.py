"""Finds what has changed on the screen without asking what cannot have.

Flet looks for changes by visiting every control below the one that is sent, makes each
check itself and sends every button's style anew. On a phone that is most of what a key
of the pad costs. :class:`Leaner` takes Flet's own way for a control that was touched, for
what was put in or taken out, and passes by the rest.
"""

from __future__ import annotations

from dataclasses import fields
from functools import cache
from operator import is_
from typing import Any

from flet.controls.base_control import BaseControl
from flet.controls.object_patch import DiffBuilder, ObjectPatch
from flet.messaging import session

__all__ = ["LeanPatch", "Leaner", "use"]

_NOTHING: dict[str, Any] = {}
_ABSENT = object()
_MAKINGS = "__makings"
#: What has no fields of its own.
_PLAIN = frozenset({int, float, str, bool, type(None)})
#: What a control does before it is sent, where that is nothing; a value does nothing either.
_IDLE = BaseControl.before_update


def _now(it: Any, name: str) -> Any:
    """The value of a field, without a call where it is kept in the open."""
    own = it.__dict__
    held = own.get("_values", _NOTHING).get(name, _ABSENT)
    if held is _ABSENT:
        held = own.get(name, _ABSENT)
    return getattr(it, name) if held is _ABSENT else held


def touched(it: Any) -> bool:
    """Whether anything of ``it`` may differ from what was sent: its fields, what its lists hold, a value inside it."""
    own = it.__dict__
    return bool(own.get("_dirty") or own.get("__changes")) or moved(it)


def moved(it: Any) -> bool:
    """Whether ``it`` may hold other things than it was sent with, or one of its values differs."""
    own = it.__dict__
    lists = own.get("__prev_lists")
    if lists is None:
        return False  # it was never sent: what holds it sends it whole
    for name, sent in lists.items():
        now = _now(it, name)
        if now.__class__ is not list or len(now) != len(sent) or not all(map(is_, now, sent)):
            return True
    dicts, classes = own["__prev_dicts"], own["__prev_classes"]
    for name, sent in dicts.items():
        now = _now(it, name)
        if (now or sent) and not _same(now, sent):
            return True
    for name, sent in classes.items():
        now = _now(it, name)
        if now is not sent or ("_i" not in now.__dict__ and touched(now)):
            return True
    for name in getattr(it.__class__, "_structural_fields", ()):
        held = own.get(name)
        if held.__class__ not in _PLAIN and name not in lists and name not in dicts and name not in classes:
            return True  # it held nothing when it was sent
    return False


def _same(now: Any, sent: dict[Any, Any]) -> bool:
    """Whether a dictionary holds the very things that it was sent with."""
    return now.__class__ is dict and len(now) == len(sent) and all(now.get(key, _ABSENT) is sent[key] for key in sent)


def _is_said(own: dict[str, Any], values: dict[str, Any], name: str) -> bool:
    """Whether a field holds no control, list or object of fields, and held none when it was sent."""
    value = values.get(name)
    return not (
        isinstance(value, (list, dict))
        or hasattr(value, "__dataclass_fields__")
        or any(name in own.get(kept, _NOTHING) for kept in ("__prev_lists", "__prev_dicts", "__prev_classes"))
    )


@cache
def _makings(kind: Any) -> tuple[str, ...]:
    """The fields that are not sent themselves: what is sent may be made of them, as a button's style is."""
    return tuple(f.name for f in fields(kind) if f.metadata.get("skip") and f.name[0] != "_" and f.name != "data")


def _made_of_the_same(own: dict[str, Any], kind: Any) -> bool:
    """Whether those fields are as they were when it was asked last; not so where it was never asked."""
    before, now = own.get(_MAKINGS), tuple(own.get(name) for name in _makings(kind))
    own[_MAKINGS] = now
    return bool(before == now) and not any(getattr(one, "_dirty", None) for one in now)


class Leaner(DiffBuilder):
    """Flet's search for differences that looks no closer at what stands as it was sent."""

    def _compare_dataclasses(self, parent: Any, path: list[Any], src: Any, dst: Any, frozen: bool) -> None:
        if frozen or src is not dst or not self._as_it_stood(dst, path):
            super()._compare_dataclasses(parent, path, src, dst, frozen)
            return
        if dst.__dict__.get("_isolated") and dst is not self.dst_doc:
            return  # it sends what is inside it by itself
        self._look_inside(dst, path, dst)

    def _as_it_stood(self, it: Any, path: list[Any]) -> bool:
        """Whether a control holds what it was sent with; what was only said otherwise (a text, a colour) is noted to be sent."""
        own, kind = it.__dict__, it.__class__
        idle = getattr(kind, "before_update", _IDLE) is _IDLE
        if own.get("__changes") or moved(it) or not (idle or _made_of_the_same(own, kind)):
            return False
        said = own.get("_dirty")
        if not said:
            return True
        values = own["_values"]
        if not idle or "_frozen" in own or not all(_is_said(own, values, name) for name in said):
            return False
        for name in said:
            value = values.get(name, kind._prop_defaults[name])
            self._item_replaced(path, name, value is not None if name in kind._event_fields else value)
        said.clear()
        return True

    def _look_inside(self, parent: Any, path: list[Any], it: Any) -> None:
        """Look through the controls that ``it`` holds; ``parent`` is the control that it is, or belongs to."""
        own = it.__dict__
        for name, held in own.get("__prev_lists", _NOTHING).items():
            if held:
                self._compare_lists(parent, [*path, name], held, held, False)
        for name, held in own.get("__prev_classes", _NOTHING).items():
            inside = held.__dict__
            if "_i" not in inside:  # a value, which was looked at with what holds it
                if inside.get("__prev_classes") or inside.get("__prev_lists"):
                    self._look_inside(parent, [*path, name], held)
            elif "_frozen" not in inside:
                self._compare_dataclasses(parent, [*path, name], held, held, False)

    def _compare_lists(self, parent: Any, path: list[Any], src: list[Any], dst: list[Any], frozen: bool) -> None:
        if frozen or len(src) != len(dst) or not all(map(is_, src, dst)):
            super()._compare_lists(parent, path, src, dst, frozen)
            return
        for index, held in enumerate(dst):
            if held.__class__ in _PLAIN:
                continue
            if isinstance(held, (list, dict)):
                self._compare_values(parent, path, index, held, held, False)
            elif hasattr(held, "__dataclass_fields__"):
                self._compare_dataclasses(parent, [*path, index], held, held, False)


class LeanPatch(ObjectPatch):
    """What is to be sent, found by :class:`Leaner`."""

    @classmethod
    def from_diff(
        cls,
        src: Any,
        dst: Any,
        control_cls: type[Any],
        parent: Any = None,
        path: list[Any] | None = None,
        frozen: bool = False,
    ) -> tuple[ObjectPatch, list[Any], list[Any]]:
        """As :meth:`flet.controls.object_patch.ObjectPatch.from_diff`: the patch, and what came and went."""
        found = Leaner(src, dst, control_cls=control_cls)
        found._compare_values(parent, path or [], None, src, dst, frozen=frozen)
        done = cls(list(found.execute())), list(found.get_added_controls()), list(found.get_removed_controls())
        found.teardown()
        return done


def use() -> None:
    """Have Flet's sessions look for changes in this way."""
    session.ObjectPatch = LeanPatch  # type: ignore[attr-defined]
