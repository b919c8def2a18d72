"""Settings, files and help: what is the same on every job."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import asdict, replace

import flet as ft

from logic.numerals import clean, decimal
from logic.result import Verdict
from logic.say import L, Line
from store import rates

from .. import bridge, manners, parts
from .. import theme as th
from ..shell import Pressed, Screen, Ticked, TypedIn
from .keeping import BY_HAND, BY_MENU, storage_strip

WHY = {
    "not yet": L("Some parts are still being fetched. Leave the app open with a signal for a minute."),
    "missing": L("A stored part is gone. Open the app once with a signal to fetch it again."),
    "insecure": L("This address is not secure, so the browser keeps nothing. Open the app over https."),
    "browser": L("This browser cannot keep the app for work without a signal."),
}


#: What is asked of the rates, in the order of the settings; a share is typed in percent.
RATES = (
    ("per_hour", L("Per hour of work"), False),
    ("per_bore", L("Per bore, on top of the time"), False),
    ("per_edge", L("Per cutting edge"), False),
    ("per_set", L("Per set of stones"), False),
    ("travel", L("For the journey, there and back"), False),
    ("margin", L("Margin on parts, in percent"), True),
)


def amount(text: str) -> float | None:
    """An amount of money as somebody types it, with a point or a comma; None where it is none, or may be two."""
    digits = clean(text).replace(" ", "")
    ways = decimal(digits, grouping=True) if re.fullmatch(r"[0-9.,]*[0-9][0-9.,]*", digits) else []
    return ways[0] if len(ways) == 1 and ways[0] <= rates.MOST_MONEY else None


class More(Screen):
    title = L("Settings")
    up = "/"

    async def load(self) -> None:
        self.theme = await self.app.jobs.setting("theme", "system")
        self.contrast = await self.app.jobs.setting("contrast", "device")
        self.shop = str(await self.app.jobs.setting("shop", "") or "")
        self.rates = rates.read(await self.app.jobs.setting(rates.SETTING))
        self.offline: bridge.Offline | None = None
        self.update = await bridge.update_waiting()
        self.install = await bridge.install_prompt_available()
        self.able = await manners.able()
        self.voice = await manners.voice(self.app.style.language)
        self.keeping = await manners.keeping()

    async def shown(self) -> None:
        self.offline = await bridge.offline_ready()
        self.about.controls = self._app()
        self.app.update(self.about)

    def body(self) -> list[ft.Control]:
        t, s = self.t, self.app.style
        return [
            *[
                parts.button(t(label), self.follow, data=route, icon=icon, height=56)
                for label, icon, route in (
                    (L("Files: save, import, bin"), ft.Icons.FOLDER_OPEN, "/files"),
                    (L("My machines and gauges"), ft.Icons.PRECISION_MANUFACTURING, "/kit"),
                    (L("Words of the trade"), ft.Icons.MENU_BOOK, "/terms"),
                    (L("A short tour"), ft.Icons.SIGNPOST_OUTLINED, "/tour"),
                    (L("What this has been checked against"), ft.Icons.FACT_CHECK_OUTLINED, "/checked"),
                    (L("Accessibility"), ft.Icons.ACCESSIBILITY_NEW, "/access"),
                )
            ],
            parts.heading(t(L("Show"))),
            self._pick(
                L("Light"), "theme", (("system", L("Device")), ("light", L("Sun")), ("dark", L("Dark"))), self.theme
            ),
            self._pick(
                L("Contrast"), "contrast", (("device", L("Device")), ("more", L("More contrast"))), self.contrast
            ),
            self._pick(L("Temperatures"), "temperature", (("C", L("°C")), ("F", L("°F"))), s.temperature),
            self._pick(L("Language"), "language", (("en", L("English")), ("de", L("Deutsch"))), s.language),
            *self._hands(),
            parts.heading(t(L("Who is measuring"))),
            ft.TextField(
                value=self.app.by,
                label=t(L("Name written into the log")),
                on_blur=self._by,
                on_submit=self._by,
                text_size=th.LARGE,
                border_color="outline",
            ),
            parts.heading(t(L("The shop, for the report"))),
            ft.TextField(
                value=self.shop,
                label=t(L("Name and address, line by line")),
                on_blur=self._shop,
                multiline=True,
                min_lines=2,
                max_lines=5,
                text_size=th.LARGE,
                border_color="outline",
            ),
            *self._rates(),
            parts.heading(t(L("This app"))),
            self._about(),
        ]

    def _pick(self, label: Line, key: str, options: Iterable[tuple[str, Line]], now: str) -> ft.Control:
        return ft.Column(
            [
                parts.muted(self.t(label)),
                parts.beside(
                    *(
                        parts.button(
                            self.t(face),
                            self._set,
                            data=(key, value),
                            height=th.TOUCH,
                            bg="primary" if value == now else None,
                            ink="onprimary" if value == now else None,
                        )
                        for value, face in options
                    ),
                    room=self.app.frame.room,
                    rows=1,
                    gap=6,
                ),
            ],
            spacing=4,
            horizontal_alignment=ft.CrossAxisAlignment.STRETCH,
        )

    def _rates(self) -> list[ft.Control]:
        """The person's own rates, which every job's estimate takes."""
        t = self.t
        return [
            parts.heading(t(L("Your rates, for the estimate"))),
            *[self._rate(key, t(label), share=share) for key, label, share in RATES],
            ft.TextField(
                value=self.rates.currency,
                label=t(L("Currency, as a sign or short name")),
                data="currency",
                on_blur=self._rated,
                on_submit=self._rated,
                text_size=th.LARGE,
                border_color="outline",
            ),
        ]

    def _rate(self, key: str, label: str, *, share: bool) -> ft.TextField:
        held = getattr(self.rates, key)
        said = "" if held is None else f"{100 * held if share else held:.10g}"
        return ft.TextField(
            value=said.replace(".", ",") if self.app.style.language == "de" else said,
            label=label,
            data=key,
            on_blur=self._rated,
            on_submit=self._rated,
            keyboard_type=ft.KeyboardType.NUMBER,
            text_size=th.LARGE,
            border_color="outline",
        )

    async def _rated(self, e: TypedIn) -> None:
        """Keep what was typed; a figure that is none stays in its field, which says so."""
        key, text = str(e.control.data), (e.control.value or "").strip()
        share = {k: s for k, _, s in RATES}
        value: str | float | None = text if key == "currency" else amount(text)
        e.control.error = None
        if key != "currency" and text and value is None:
            e.control.error = self.t(L("A number, please: like 55 or 12.50."))
            self.app.update(e.control)
            return
        if isinstance(value, float) and share.get(key):
            value = value / 100
        self.rates = rates.read({**asdict(self.rates), key: value})
        await self.app.jobs.set_setting(rates.SETTING, asdict(self.rates))
        self.app.update(e.control)

    def _about(self) -> ft.Control:
        self.about = ft.Column(self._app(), spacing=th.GAP, horizontal_alignment=ft.CrossAxisAlignment.STRETCH)
        return self.about

    def _app(self) -> list[ft.Control]:
        t, offline = self.t, self.offline
        out: list[ft.Control] = []
        if offline is None:
            out.append(parts.text(t(L("Looking whether everything is here for work without a signal …"))))
        elif offline.ready:
            out.append(
                parts.strip(
                    Verdict.GO,
                    t(L("Ready to work offline")),
                    t(L("Every part of the app is stored on this device.")),
                    size=th.BODY,
                )
            )
        else:
            out.append(
                parts.strip(
                    Verdict.MAYBE,
                    t(L("Not ready to work offline")),
                    t(WHY.get(offline.why, WHY["not yet"])),
                    size=th.BODY,
                )
            )
        out += storage_strip(self.app, self.keeping)
        if self.update.waiting:
            out.append(
                parts.button(
                    t(L("A new version is here: change over now")),
                    bridge.apply_update,
                    icon=ft.Icons.UPDATE,
                    primary=True,
                    height=56,
                )
            )
        if self.install.prompt:
            out.append(
                parts.button(
                    t(L("Put Boreside on the home screen")),
                    bridge.prompt_install,
                    icon=ft.Icons.ADD_TO_HOME_SCREEN,
                    height=56,
                )
            )
        elif self.install.by_hand == "ios":
            out.append(parts.text(t(BY_HAND)))
        elif not self.install.installed:
            out.append(parts.text(t(BY_MENU)))
        version, built = (offline.version, offline.built[:10]) if offline else ("", "")
        if version:
            out.append(parts.muted(t(L("Version {version}, built {built}.", version=version, built=built))))
        out.append(parts.muted(t(L("No data leaves this device unless you save a file."))))
        return out

    def _hands(self) -> list[ft.Control]:
        """What the device does for busy hands, as far as it can."""
        t, hands = self.t, self.app.hands
        can = {"awake": self.able.awake, "buzz": self.able.buzz, "beep": self.able.beep, "speak": bool(self.voice)}
        ticks: list[ft.Control] = []
        for key, (label, _) in manners.WISHES.items():
            if can[key]:
                box = parts.tick(t(label), self._wish, value=hands.wants[key], width=self.app.frame.room)
                box.data = key
                ticks.append(box)
        if not self.voice:
            ticks.append(
                parts.muted(t(L("This device has no voice of its own for this language: nothing is read aloud.")))
            )
        return [parts.heading(t(L("With your hands full"))), *ticks]

    async def _wish(self, e: Ticked) -> None:
        await self.app.hands.want(self.app.jobs, str(e.control.data), on=bool(e.control.value))

    async def _set(self, e: Pressed) -> None:
        key, value = e.control.data
        await self.app.jobs.set_setting(key, value)
        if key in ("theme", "contrast"):
            setattr(self, key, value)
            await self.app.dress()
        else:
            self.app.style = replace(self.app.style, **{key: value})
            self.voice = await manners.voice(self.app.style.language)
        self.redraw()

    async def _shop(self, e: TypedIn) -> None:
        self.shop = (e.control.value or "").strip()[:400]
        await self.app.jobs.set_setting("shop", self.shop)

    async def _by(self, e: TypedIn) -> None:
        self.app.by = (e.control.value or "").strip()[:200]
        await self.app.jobs.set_setting("by", self.app.by)
