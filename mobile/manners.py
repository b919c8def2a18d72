"""What a phone does for somebody whose hands are busy, asked of the browser (``web/manners.js``).

Off the browser every function answers plainly that there is nothing to do. None raises
for a missing browser feature. :class:`Hands` holds what the person wants of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from logic.say import L, Line, Style, say
from logic.spoken import spoken

from . import bridge

if TYPE_CHECKING:
    from logic.fields import Field
    from logic.say import Line as Words
    from logic.units import Entered
    from store.jobs import Jobs

__all__ = [
    "ABLE",
    "Able",
    "Contrast",
    "Hands",
    "Keeping",
    "able",
    "awake",
    "contrast",
    "glimpse",
    "hand",
    "keeping",
    "opened",
    "shoot",
    "signal",
    "voice",
]


@dataclass(frozen=True, slots=True)
class Able:
    """What this device can do. ``camera``: it photographs straight from a press."""

    awake: bool = False
    buzz: bool = False
    beep: bool = False
    camera: bool = False


@dataclass(frozen=True, slots=True)
class Keeping:
    """How safe the browser says its storage is.

    ``lasting``: it has promised not to clear it when room runs short (None: it does not say).
    ``installed``: opened from the home screen or as an app. ``webkit``: a browser that deletes
    what a page in a tab has stored after seven days without a visit. ``by_hand``: "ios" where
    installing goes by the share menu. ``used`` and ``quota`` in bytes, None where not told.
    ``browser`` is False on a computer, where jobs are files.
    """

    lasting: bool | None = None
    installed: bool = False
    webkit: bool = False
    by_hand: str = ""
    used: float | None = None
    quota: float | None = None
    browser: bool = True

    @property
    def in_tab(self) -> bool:
        """A tab of a browser that clears what a tab stores."""
        return self.browser and self.webkit and not self.installed


@dataclass(frozen=True, slots=True)
class Contrast:
    """What the device asks of colours. ``more``: as much contrast as there can be. ``colours``: those it forces on every
    page, as ``#rrggbb`` by "ground", "ink", "chosen" and "on_chosen"; none where it forces none."""

    more: bool = False
    colours: Mapping[str, str] = field(default_factory=dict)


#: What a shop computer's own window can do.
ABLE = Able()


async def able() -> Able:
    """What this device can do."""
    if not bridge.IN_BROWSER:
        return ABLE
    got = await bridge.ask("able")
    return Able(*(bool(got.get(name)) for name in ("awake", "buzz", "beep", "camera")))


async def contrast(*, anew: bool = False) -> Contrast:
    """What the device asks of colours: as the page said at the start, or ``anew``."""
    if not bridge.IN_BROWSER:
        return Contrast()
    got = (await bridge.ask("contrast") if anew else bridge.told("contrast")) or {}
    return Contrast(bool(got.get("more")), dict(got.get("colours") or {}))


async def awake(*, on: bool) -> bool:
    """Keep the screen on, or let it go dark again; whether it is kept on now."""
    return bool(await bridge.ask("awake", on)) if bridge.IN_BROWSER else False


async def signal(kind: str, *, beeps: bool, buzzes: bool, words: str, language: str) -> None:
    """Tell without a look at the screen that an entry was "taken" or "refused"."""
    if bridge.IN_BROWSER and (beeps or buzzes or words):
        await bridge.ask(
            "signal", {"kind": kind, "beeps": beeps, "buzzes": buzzes, "words": words, "language": language}
        )


async def voice(language: str) -> str:
    """The name of the voice that the device itself has for a language; "" where it has none."""
    return str(await bridge.ask("voice", language)) if bridge.IN_BROWSER else ""


async def hand(name: str, media: str, data: Any, words: Mapping[str, str]) -> str:
    """Offer a file (bytes, or a blob of the page) to the system's share sheet: "shared", "closed", or "save" where it is to be saved instead.

    ``words``: "ready", "share", "save" and "close", as the page says them where it has to ask.
    """
    return str(await bridge.ask("hand", name, media, data, dict(words))) if bridge.IN_BROWSER else "save"


async def shoot() -> bytes | None:
    """A photograph from the camera; None where none was taken."""
    got = await bridge.ask("shoot") if bridge.IN_BROWSER else None
    return None if got is None else bytes(got)


async def opened() -> bytes | None:
    """The file that the system opened the app with, once; None where there is none."""
    got = await bridge.ask("opened") if bridge.IN_BROWSER else None
    return None if got is None else bytes(got)


async def keeping() -> Keeping:
    """How safe the storage is."""
    if not bridge.IN_BROWSER:
        return Keeping(lasting=True, browser=False)
    got = await bridge.ask("keeping")
    lasting = got.get("lasting")
    return Keeping(
        lasting=None if lasting is None else bool(lasting),
        installed=bool(got.get("installed")),
        webkit=bool(got.get("webkit")),
        by_hand=str(got.get("hand", "")),
        used=got.get("used"),
        quota=got.get("quota"),
    )


async def glimpse(picture: dict[str, Any] | None) -> None:
    """Keep the picture of the last screen for the next start, or drop it."""
    if bridge.IN_BROWSER:
        await bridge.ask("glimpse", picture)


#: What the person may want: key of the setting, what stands for it, and whether it is wanted until they say.
WISHES: Mapping[str, tuple[Line, bool]] = {
    "awake": (L("Keep the screen on while a job is open"), True),
    "buzz": (L("Buzz at each entry"), True),
    "beep": (L("Beep when a gauge sends a reading"), True),
    "speak": (L("Read each number back aloud"), False),
}


class Hands:
    """What the person wants the device to do besides showing: read from the device's settings, changed on the settings screen."""

    def __init__(self) -> None:
        self.wants = {key: wanted for key, (_, wanted) in WISHES.items()}
        self.able = ABLE

    async def load(self, jobs: Jobs) -> None:
        for key in WISHES:
            self.wants[key] = bool(await jobs.setting(key, self.wants[key]))

    async def want(self, jobs: Jobs, key: str, *, on: bool) -> None:
        """Change a wish, for good."""
        self.wants[key] = on
        await jobs.set_setting(key, on)

    async def job_open(self, *, on: bool) -> None:
        """A job is on show, or none any more."""
        await awake(on=on and self.wants["awake"])

    async def taken(
        self, got: Entered, field: Field, style: Style, *, by_gauge: bool = False, then: Words | str = ""
    ) -> None:
        """A number was taken: buzz, beep for a gauge, and read it back, with what is asked for next."""
        words = ""
        if self.wants["speak"]:
            number = spoken(got.text, got.typed_unit, style.language, signed=field.kind == "deviation")
            words = f"{number}. {say(then, style)}" if then else number
        await signal(
            "taken",
            beeps=by_gauge and self.wants["beep"],
            buzzes=self.wants["buzz"],
            words=words,
            language=style.language,
        )

    async def refused(self, line: Words | str, style: Style, *, by_gauge: bool = False) -> None:
        """What was entered cannot be taken as it stands."""
        await signal(
            "refused",
            beeps=by_gauge and self.wants["beep"],
            buzzes=self.wants["buzz"],
            words=say(line, style) if self.wants["speak"] else "",
            language=style.language,
        )
