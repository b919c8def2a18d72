"""How safe what is stored is, in words: on every device, as the browser says it."""

from __future__ import annotations

import time

import flet as ft

from logic.result import Verdict
from logic.say import L, Line
from store.jobs import Summary

from .. import parts
from .. import theme as th
from ..manners import Keeping
from ..shell import Shell

__all__ = [
    "ASIDE_BYTES",
    "BY_HAND",
    "BY_MENU",
    "arrival",
    "day_over",
    "first_to_home",
    "room_line",
    "safety",
    "storage_strip",
    "tab_notice",
]

#: Below this much free room new photos may no longer fit.
ASIDE_BYTES = 50e6
#: From this hour on a day's work is worth a file even if the day is not over (common practice, no source).
EVENING_HOUR = 16

BY_HAND = L("Press the share sign of the browser, then “Add to Home Screen”, and open Boreside from there.")
BY_MENU = L("To put Boreside on the home screen, look for “Install” or “Add to home screen” in the browser's menu.")
WHY_HOME = L(
    "A tab forgets: this browser deletes what a tab has stored after seven days without a visit. On the home screen it stays, and the log there starts empty."
)


def safety(k: Keeping) -> tuple[str, Line, Line]:
    """How safe the storage is: verdict, a few words, and what that means."""
    if not k.browser:
        return Verdict.GO, L("Stored as files"), L("On this computer, until somebody deletes them.")
    if k.in_tab:
        return (
            Verdict.STOP,
            L("Stored in a browser tab"),
            L("This browser deletes what a tab has stored after seven days without a visit. Save jobs to files."),
        )
    if k.lasting:
        return (
            Verdict.GO,
            L("Stored to last"),
            L(
                "The browser has agreed to keep it. It goes only if somebody removes the app or clears the browser's data."
            ),
        )
    if k.webkit:
        return (
            Verdict.MAYBE,
            L("Stored on the home screen"),
            L(
                "Days without a visit do no harm here. When room runs short the browser may still clear it: save jobs to files."
            ),
        )
    if k.lasting is None:
        return (
            Verdict.MAYBE,
            L("Stored, for how long is not known"),
            L("This browser does not say how long it keeps it. Save jobs to files."),
        )
    return (
        Verdict.MAYBE,
        L("Stored, but not to last"),
        L("When the device runs short of room the browser may clear it. Save jobs to files."),
    )


def room_line(k: Keeping) -> Line | None:
    """How much of the room is taken, where the browser tells; that little is left, where it is so."""
    if not k.browser or k.quota is None or k.used is None:
        return None
    used, quota = f"{k.used / 1e6:.0f}", f"{k.quota / 1e6:.0f}"
    if k.quota - k.used < ASIDE_BYTES:
        return L("Little room is left: {used} of {quota} MB are taken. Save jobs to files.", used=used, quota=quota)
    return L("{used} of {quota} MB are taken.", used=used, quota=quota)


def storage_strip(app: Shell, k: Keeping) -> list[ft.Control]:
    """How safe the storage is, as the settings show it."""
    verdict, word, line = safety(k)
    room = room_line(k)
    said = [parts.muted(app.t(room))] if room is not None else []
    return [parts.strip(verdict, app.t(word), app.t(line), size=th.BODY), *said]


def day_over(s: Summary, now_ms: int) -> bool:
    """Whether a day's work on a job is done and in no file: changed on an earlier day, or it is evening. Local time."""
    if not s.unsaved or not s.entries:
        return False
    now, last = time.localtime(now_ms / 1000), time.localtime(s.changed_ms / 1000)
    return (last.tm_year, last.tm_yday) != (now.tm_year, now.tm_yday) or now.tm_hour >= EVENING_HOUR


def _card(app: Shell, *lines: Line, ink: str, bg: str, more: ft.Control | None = None) -> ft.Control:
    head, *rest = lines
    said: list[ft.Control] = [parts.text(app.t(head), th.BODY, bold=True, color=ink)]
    said += [parts.text(app.t(line), th.BODY, color=ink) for line in rest]
    return parts.card(*said, *([more] if more else []), bg=bg)


def first_to_home(app: Shell, k: Keeping) -> list[ft.Control]:
    """Before the first job in such a tab: to the home screen first, and why."""
    if not k.in_tab:
        return []
    how = BY_HAND if k.by_hand == "ios" else BY_MENU
    head = L("Put it on the home screen first")
    return [_card(app, head, WHY_HOME, how, ink="onerrorcontainer", bg="errorcontainer")]


def arrival(app: Shell, k: Keeping, go: parts.Handler) -> list[ft.Control]:
    """The first start from the home screen, where the log starts empty: offer to take in what the tab has."""
    if not (k.webkit and k.installed):
        return []
    take = parts.button(app.t(L("Import a file")), go, data="/files", icon=ft.Icons.FILE_OPEN)
    head = L("Jobs from a browser tab are not here")
    why = L(
        "The app on the home screen has a log of its own. Save the jobs to a file in the tab, and import the file here."
    )
    return [_card(app, head, why, ink="onprimarycontainer", bg="primarycontainer", more=take)]


def tab_notice(
    app: Shell, k: Keeping | None, summary: Summary | None, now_ms: int, save: parts.Handler
) -> list[ft.Control]:
    """On every job while it is worked on in such a tab; with the day's file offered when the day is done."""
    if k is None or not k.in_tab:
        return []
    may = L("This job is in a browser tab: after seven days without a visit the browser may clear it.")
    if summary is None or not day_over(summary, now_ms):
        return [parts.notice(app.t(may), bad=True)]
    offer = parts.button(app.t(L("Save this job to a file")), save, icon=ft.Icons.SAVE_ALT, primary=True)
    due = L("The last day's work on it is in no file yet.")
    return [_card(app, may, due, ink="onerrorcontainer", bg="errorcontainer", more=offer)]
