"""What the app sends to the screen is found by a shorter way than Flet's own; the screen must come out the same."""

from __future__ import annotations

import random
from collections.abc import Callable, Coroutine, Iterator
from functools import reduce
from operator import getitem
from typing import Any

import flet as ft
import msgpack
import pytest
from flet.controls.base_control import BaseControl
from flet.controls.object_patch import ObjectPatch
from flet.messaging.protocol import configure_encode_object_for_msgpack

from mobile.leaner import LeanPatch

from .stub import DEMO, Page, Phone, drive

#: What a client is told of a control that says nothing of how it looks: numbers given in turn.
GIVEN = ("_i",)


def told(what: Any) -> Any:
    """What a client reads of something that is sent."""
    packed = msgpack.packb(what, default=configure_encode_object_for_msgpack(BaseControl))
    return msgpack.unpackb(packed, strict_map_key=False)


class Client:
    """A screen that holds what it was sent, and changes it as Flet's protocol says: a table of places, then operations."""

    def __init__(self, root: BaseControl) -> None:
        self.root = told(root)
        self.operations = 0

    def take(self, id: int, message: list[Any]) -> None:
        found = [one for one in _all(self.root) if one.get("_i") == id]
        if not found or len(message) < 2:
            return
        table, *operations = message
        paths: dict[int, tuple[Any, ...]] = {}

        def name(node: list[Any], path: tuple[Any, ...]) -> None:
            paths[node[0]] = path
            for key, below in (node[1] if len(node) > 1 else {}).items():
                name(below, (*path, key))

        def at(place: int) -> Any:  # as it is when its turn comes: what is taken out of a list moves the rest up
            return reduce(getitem, paths[place], found[0])

        name(table, ())
        for kind, place, key, *value in operations:
            self.operations += 1
            holder = at(place)
            if kind == 3:
                at(value[0]).insert(value[1], holder.pop(key))
            elif kind == 2:
                del holder[key]
            elif kind == 1 and isinstance(holder, list):
                holder.insert(key, value[0])
            else:
                holder[key] = value[0]

    def shown(self) -> Any:
        """What is on the screen, without the numbers that controls get as they are made."""
        return _plain(self.root)


def _all(node: Any) -> Iterator[dict[str, Any]]:
    if isinstance(node, dict):
        yield node
        for below in node.values():
            yield from _all(below)
    elif isinstance(node, list):
        for below in node:
            yield from _all(below)


def _plain(node: Any) -> Any:
    if isinstance(node, dict):
        return {k: _plain(v) for k, v in node.items() if k not in GIVEN and v is not None}
    return [_plain(one) for one in node] if isinstance(node, list) else node


class Sending(Page):
    """A page that sends what changes to a client, by the one way or the other."""

    by: type[ObjectPatch] = ObjectPatch

    def __init__(self, *given: Any) -> None:
        super().__init__(*given)
        self.client: Client | None = None

    def update(self, *controls: ft.Control) -> None:
        super().update(*controls)
        frame = self.views[0].controls[0]
        if self.client is None:
            found = ObjectPatch.from_diff(
                None, frame, control_cls=BaseControl
            )  # sets up each control, as a first page does
            assert found[1]
            self.client = Client(frame)
            return
        for control in controls or (frame,):
            patch, _added, _removed = self.by.from_diff(control, control, control_cls=BaseControl)
            self.client.take(control._i, told(patch.to_message()))


class Leanly(Sending):
    by = LeanPatch


async def quick_check(phone: Phone) -> None:
    await phone.tap("Nominal bore")
    await phone.keys("3.0")
    await phone.tap("Next")
    await phone.keys("3.014")
    for key in ("Delete digit", "9", "Delete digit", "Change sign", "Change sign", "7"):
        await phone.keys(key) if len(key) == 1 else await phone.tap(key)
    await phone.tap("Done")


async def readings(phone: Phone) -> None:
    await phone.tap("New job", "Nominal bore")
    await phone.enter("3.0", word="Done")
    await phone.tap("Start measuring", "I have read this")
    await phone.rest()
    await phone.enter("4", "2", "900")
    await phone.tap("Type it again")
    for number in ("2", "-1", "0", "0"):
        await phone.enter(number)
        await phone.rest()
    await phone.tap("Undo the last entry")
    await phone.rest()


async def round_the_job(phone: Phone) -> None:
    for place in ("", "/oversize", "/face", "/hone", "/final", "/log"):
        await phone.go(DEMO + place)
    await phone.size(844, 390)
    await phone.go("/kit")
    await phone.go("/more")


async def at_random(phone: Phone) -> None:
    """Whatever can be pressed, by a hand that does not look."""
    chance = random.Random(7)
    for _ in range(60):
        here = [c for c in phone.pressable() if not isinstance(c, ft.TextField)]
        pressed = chance.choice(here)
        await phone.send(pressed.on_click, pressed)
        await phone.rest()


async def shown_after(page: Sending, work: Callable[[Phone], Coroutine[Any, Any, None]]) -> tuple[Any, int]:
    phone = await Phone.start(with_demo=True, page=page)
    await work(phone)
    await phone.rest()
    assert page.client is not None
    return page.client.shown(), page.client.operations


@pytest.mark.parametrize("work", [quick_check, readings, round_the_job, at_random])
def test_the_screen_comes_out_as_by_flets_own_search_and_no_more_is_sent(
    work: Callable[[Phone], Coroutine[Any, Any, None]],
) -> None:
    async def both() -> None:
        flets, many = await shown_after(Sending(), work)
        leans, few = await shown_after(Leanly(), work)
        assert leans == flets
        assert 0 < few <= many
        assert work is not quick_check or few < 0.9 * many  # styles that did not change are not sent again

    drive(both)


def small_screen() -> ft.Column:
    return ft.Column(
        [
            ft.Text("one", color="primary"),
            ft.Button(content=ft.Text("press"), bgcolor="surface", style=ft.ButtonStyle(color="primary")),
            ft.Container(ft.Text("held"), padding=ft.Padding.all(4), border=ft.Border.all(1, "outline")),
            ft.Semantics(label="told", content=ft.Row([ft.Text("two", key="two"), ft.Text("three", key="three")])),
            ft.TextField(value="typed"),
        ]
    )


def change_all(screen: ft.Column) -> Iterator[Callable[[], object]]:
    """One change after another, of every kind that the search tells apart."""
    text, button, box, told, field = screen.controls
    yield lambda: setattr(text, "value", "uno")
    yield lambda: setattr(text, "color", None)  # back to what Flet takes by itself
    yield lambda: setattr(button, "bgcolor", "error")  # a button's style is made of it before it is sent
    yield lambda: setattr(button.style, "color", "error")  # inside a value
    yield lambda: setattr(button, "style", ft.ButtonStyle(color="outline"))
    yield lambda: setattr(button, "on_click", print)
    yield lambda: setattr(box, "padding", ft.Padding.all(8))
    yield lambda: setattr(box.border.left, "width", 3)  # a value inside a value
    yield lambda: box._internals.update(more=ft.Padding.all(2))  # a dictionary
    yield lambda: setattr(box, "border", None)
    yield lambda: setattr(box, "border", ft.Border.all(2, "error"))  # what held nothing when it was sent
    yield lambda: setattr(box, "content", ft.Text("new"))
    yield lambda: setattr(told.content.controls[1], "value", "tre")  # deep down
    yield told.content.controls.reverse
    yield told.content.controls.pop
    yield lambda: told.content.controls.insert(0, ft.Icon(ft.Icons.ADD))
    yield lambda: setattr(told.content, "controls", [ft.Text("two", key="two")])
    yield lambda: setattr(told.content, "controls", [])
    yield lambda: setattr(field, "fill_color", "surface")  # the field turns itself to filled
    yield lambda: screen.controls.remove(text)
    yield lambda: None


def test_each_kind_of_change_is_found():
    """The same changes on two like screens: sent by Flet's own search, and by the shorter one."""
    pages = []
    for way in (ObjectPatch, LeanPatch):
        screen = small_screen()
        ObjectPatch.from_diff(None, screen, control_cls=BaseControl)
        client, after = Client(screen), []
        for change in change_all(screen):
            change()
            before = client.operations
            client.take(screen._i, told(way.from_diff(screen, screen, control_cls=BaseControl)[0].to_message()))
            after.append((client.shown(), client.operations - before))
        pages.append(after)
    flets, leans = pages
    assert [shown for shown, _ in leans] == [shown for shown, _ in flets]
    assert leans[-1][1] == 0  # nothing has changed, nothing is sent
    assert all(lean <= flet for (_, lean), (_, flet) in zip(leans, flets, strict=True))
