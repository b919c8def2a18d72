"""The number pad: made for a thumb and a gauge.

The pad holds text, a unit and the field it is aimed at. It never changes a stored
value: it hands the text to :func:`logic.units.parse` and shows at once what that
made of it, in both systems, or what was expected instead. At Enter, whoever aimed it may
have the text weighed by what is likely there (``meant``); where that has to be asked, the
keys make room for one button for each meaning.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Collection, Sequence
from contextlib import suppress
from typing import Any, Protocol

import flet as ft

from logic import units
from logic.doubt import Doubt
from logic.fields import Field, Number
from logic.meaning import Choice, UnclearError
from logic.say import Bound, L, Line, Qty, figure, shown

from . import measure, padkeys, parts
from . import theme as th
from .shell import Pressed, Shell

#: What the largest key says where nothing else fits.
ENTER = L("Enter")
#: From this height of the screen on, in pixels, the words above the keys are set larger in large letters.
TALL = 740
APART = L("The sign and the number came apart. Send the reading again.")
#: What is said aloud where an entry could not be stored; the screen says why.
LOST = L("Not saved. Look at the screen.")
#: From this height of the screen on there is room for one large key that takes the last entry back.
ROOMY = 760


class Meant(Protocol):
    """Weighs a text by what is likely where the pad is aimed: :func:`store.meaning.understand` there."""

    def __call__(
        self,
        text: str,
        field: Field,
        *,
        base_mm: float | None,
        divisions_mm: float | None,
        length_unit: str,
        temperature_unit: str,
    ) -> units.Entered: ...


class Pad:
    """One pad. ``aim`` it at a field; ``entered`` hears the Enter key, and answers False where what was entered could not
    be kept; ``changed`` hears each other key and returns what is to be sent again."""

    def __init__(
        self,
        app: Shell,
        *,
        entered: Callable[[units.Entered], Awaitable[bool | None]],
        changed: Callable[[units.Entered | None], Awaitable[tuple[ft.Control, ...]]] | None = None,
        undo: Callable[[], Awaitable[None]] | None = None,
        close: Callable[[], Awaitable[None]] | None = None,
        next_word: Line = ENTER,
    ) -> None:
        self.app = app
        self.entered, self.changed, self.undo, self.close = entered, changed, undo, close
        self.field: Field | None = None
        self.label: Line | str = ""
        self.base_mm: float | None = None
        self.stands: float | None = None
        self.division_mm: float | None = None
        self.text = ""
        self.unit = ""
        self.error: Line | None = None
        self.meant: Meant | None = None
        self._sent = (False, True)  # whether the question and the unit's key were on show when the pad was last sent
        self.warning: Line | None = None  # what the value entered last contradicts
        self.asked: UnclearError | None = None  # the question that the keys make room for
        self.tabbed = False
        self.width = 0.0  # of the words above the keys, in pixels
        self.got: units.Entered | None = None  # what the text means, where it means something
        self._remembered: dict[str, str] = {}
        self.ask = parts.text("", th.BODY, bold=True)
        self.typed = ft.Text("", size=28, weight=ft.FontWeight.W_700, color="onsurface", no_wrap=True)
        self.sign = ft.Icon(ft.Icons.INFO_OUTLINE, size=20)
        self.echo = parts.muted("")
        self.next_word = app.t(next_word)
        self.control = self._build()

    # -- what it is aimed at ---------------------------------------------------------
    def aim(
        self,
        field: Field,
        label: Line | str,
        *,
        base_mm: float | None = None,
        text: str = "",
        division_mm: float | None = None,
        stands: float | None = None,
        meant: Meant | None = None,
    ) -> None:
        """Ask for ``field``. ``stands`` is the value there is already: what is entered now corrects it.

        ``meant`` weighs what is entered by what is likely there.
        """
        self.stands, self.meant, self.asked, self.warning = stands, meant, None, None
        self.field, self.label, self.base_mm, self.division_mm = field, label, base_mm, division_mm
        self.text, self.error = text, None
        offered = self.offered()
        kept = self._remembered.get(field.kind + self.app.style.length)
        self.unit = kept if kept in offered else (offered[0] if offered else "")
        self._paint()

    def name_next(self, word: Line) -> None:
        """What the largest key says from now on."""
        self.next_word = self.next_face.value = self.app.t(word)

    def offered(self) -> tuple[str, ...]:
        """The units the unit key goes through: the person's own first, then the gauge's divisions."""
        if self.field is None:
            return ()
        own = units.choices_for(self.field.kind, self.app.style)
        if self.field.kind != "deviation":
            return own
        divisions = ("div",) if self.division_mm else ()
        size = ("in",) if self.base_mm and "in" not in own else ()
        return (own[0], *divisions, *own[1:2], *size, *own[2:])

    def parse(self) -> units.Entered:
        """What the text means now. Raises units.EntryError, and LookupError while the pad is aimed at nothing."""
        field, text = self.aimed, self._full_text()
        if field.kind != "deviation" or self.base_mm is None:
            return self._parsed(text, field, base_mm=self.base_mm)
        try:
            return self._parsed(text, field)
        except units.EntryError:
            size = self._whole_size(text, field, self.base_mm)
            if size is None:
                raise
            return size

    def _full_text(self) -> str:
        """What is typed; a number in the person's own unit is left bare, so that a slip of unit can be asked about."""
        own = units.unit_shown(self.aimed.kind, self.app.style)
        written = self.unit and self.unit != own and any(c.isdigit() for c in self.text) and not self._with_unit
        return f"{self.text} {self.unit}" if written else self.text

    @property
    def _with_unit(self) -> bool:
        """The text has a unit of its own, which only a gauge or a keyboard writes."""
        return any(c.isalpha() or c in '"°' for c in self.text)

    def _taken(self) -> units.Entered:
        """What the text is taken as at Enter. Raises units.EntryError; UnclearError among them is a question."""
        if self.meant is None:
            return self.parse()
        style = self.app.style
        return self.meant(
            self._full_text(),
            self.aimed,
            base_mm=self.base_mm,
            divisions_mm=self.division_mm,
            length_unit=style.length,
            temperature_unit=style.temperature,
        )

    def _parsed(self, text: str, field: Field, base_mm: float | None = None) -> units.Entered:
        style = self.app.style
        return units.parse(
            text,
            field,
            base_mm=base_mm,
            length_unit=style.length,
            temperature_unit=style.temperature,
            divisions_mm=self.division_mm,
        )

    def _whole_size(self, text: str, field: Field, base_mm: float) -> units.Entered | None:
        """A dial field also takes the whole size, where it can be nothing else: 3.0125 in is +12.5 thou over 3.0000."""
        whole = Number(
            key=field.key,
            label=field.label,
            kind="size",
            help=field.help,
            low=base_mm + (field.low or -3),
            high=base_mm + (field.high or 5),
        )
        try:
            got = self._parsed(text, whole)
        except units.EntryError:
            return None
        return units.Entered(text=got.text, typed_unit=got.typed_unit, value=got.value - base_mm, unit="mm")

    @property
    def aimed(self) -> Field:
        """The field the pad is aimed at. Raises LookupError while there is none."""
        if self.field is None:
            raise LookupError("the pad is aimed at nothing")
        return self.field

    def warn(self, doubts: Sequence[Doubt], keys: Collection[str]) -> None:
        """Say the first of ``doubts`` that is about one of the fields ``keys`` until the next key; none takes it back."""
        meant = (d for d in doubts if any(key in keys for key, _ in d.about))
        first = next(meant, None)
        self.warning = None if first is None else L("{doubt} {settle}", doubt=first.line, settle=first.settle)
        self._paint()

    def put(self, text: str, error: Line | None = None) -> None:
        """Show ``text`` as what is typed, and ``error`` beside it."""
        self.text, self.error, self.asked = text, error, None
        self._paint()

    # -- keys ------------------------------------------------------------------------
    async def press(self, key: str) -> None:
        """One key: a digit, ".", "/", "sign", "back", "unit", "more", "less", "undo" or "next"."""
        if self.field is None:
            return
        if key == "next":
            await self._enter()
        elif key == "undo":
            if self.undo:
                await self.undo()
        elif self.asked is None or key == "back":  # a digit typed blind must not join a number that is in question
            self._edit(key)
            self.error = self.asked = None
            self._paint()
            # all in one go: a second message would wait until the first is drawn
            self.tell(*(await self.changed(self.got) if self.changed else ()))

    def _edit(self, key: str) -> None:
        """What a key does to the text and its unit."""
        if self._with_unit and key != "back":
            self.text = ""  # a reading that was refused, unit and all: a hand begins anew
        if key == "back":
            self.text = self.text[:-1]
        elif key == "sign":
            self.text = self.text[1:] if self.text[:1] == "-" else "-" + self.text.lstrip("+")
        elif key == "unit":
            self._next_unit()
        elif key in ("more", "less"):
            self._nudge(1 if key == "more" else -1)
        elif len(self.text) < 12:
            if key == "/" and self.text.lstrip("-").isdigit():
                key = " "  # 3 1/32: the first press parts the whole number from its fraction
            self.text += key

    def _next_unit(self) -> None:
        offered = self.offered()
        if offered:
            now = offered.index(self.unit) if self.unit in offered else -1
            self.unit = offered[(now + 1) % len(offered)]
            self._remembered[self.aimed.kind + self.app.style.length] = self.unit

    def _nudge(self, steps: int) -> None:
        """One division of the gauge up or down, in the unit on show."""
        division = self.division_mm or 0.01
        kind = self.aimed.kind
        s = shown(kind, self.app.style)
        if kind in ("size", "deviation", "diff", "step", "fine", "place"):
            step = 1.0 if self.unit == "div" else units.convert(division, "mm", self.unit or s.unit)
        else:
            step = 10.0**-s.digits
        try:
            now = float(self.text or 0)
        except ValueError:
            return
        self.text = f"{now + steps * step:.6g}"

    async def gauge(self, text: str = "", unit: str = "") -> None:
        """A whole reading (``text``, perhaps with its unit) that a gauge typed; or a ``unit`` typed behind the number that is there."""
        if self.field is None:
            return
        if self.text.startswith("-") and text[:1] not in ("", "+", "-") and text.startswith(self.text[1:]):
            self.put("", APART)  # the minus came so long before the rest that it was taken for a hand's
            await self._refused(APART, by_gauge=True)
            return
        self.put(text or f"{self.text} {unit}")
        self.tell(*(await self.changed(self.got) if self.changed else ()))
        await self._enter(by_gauge=bool(text))

    async def _enter(self, *, by_gauge: bool = False) -> None:
        if self.asked is not None:
            return  # a question is answered by its buttons
        try:
            got = self._taken()
        except UnclearError as question:
            self.asked, self.error = question, question.question
            await self._refused(question.question, by_gauge=by_gauge)
            return
        except units.EntryError as wrong:
            self.error = wrong.line
            await self._refused(wrong.line, by_gauge=by_gauge)
            return
        await self._give(got, by_gauge=by_gauge)

    async def _refused(self, line: Line, *, by_gauge: bool) -> None:
        self._paint()
        self.tell()
        await self.app.hands.refused(line, self.app.style, by_gauge=by_gauge)

    async def _give(self, got: units.Entered, *, by_gauge: bool = False) -> None:
        """Hand over what was entered, and say so to eyes that are elsewhere, with what is asked for next."""
        field, label = self.aimed, self.label
        if await self.entered(got) is False:
            await self.app.hands.refused(LOST, self.app.style, by_gauge=by_gauge)
            return
        then = self.label if (self.field, self.label) != (field, label) else ""
        await self.app.hands.taken(got, field, self.app.style, by_gauge=by_gauge, then=then)

    async def _meaning(self, e: Pressed) -> None:
        """One of the meanings was pressed."""
        choice: Choice = e.control.data
        self.asked = self.error = None
        self._show_question()
        await self._give(choice.entered)

    async def _type_again(self) -> None:
        self.put("")
        self.tell()
        self.take_focus()

    async def key(self, key: str) -> None:
        """A key of a real keyboard."""
        key = key.removeprefix("Numpad ")
        if key == "Tab":
            self.tabbed = True
            await self._by_keys()
            return
        name = {
            "Backspace": "back",
            "Delete": "back",
            "-": "sign",
            "Subtract": "sign",
            "+": "",
            "Enter": "next",
            ",": ".",
            "Decimal": ".",
            "Divide": "/",
            "Arrow Up": "more",
            "Arrow Down": "less",
            "U": "unit",
            "Z": "undo",
            "Add": "",
        }.get(key, key)
        if name == "next" and self.tabbed:
            return  # the focused button takes it
        if name in ("back", "sign", "next", "more", "less", "unit", "undo") or (
            len(name) == 1 and name in "0123456789./ "
        ):
            if self.tabbed:
                self.take_focus()
            await self.press(name)

    # -- painting ----------------------------------------------------------------------
    def _paint(self) -> None:
        if self.field is None:
            return
        face = units.label(self.unit) if self.unit else ""
        self.ask.value = self.app.t(self.label)
        shown_text = self._in_figures(self.text) or "…"
        self.typed.value = f"{shown_text}\u202f{face}" if face and not self._with_unit else shown_text
        self.typed.semantics_label = None
        self.unit_face.value, self.unit_key.visible = face, bool(face)
        self.point_face.value = self._in_figures(".")
        self._answer()
        if self.got is not None and self._taken_else(self.got):  # the unit that Enter takes it in
            self.typed.value = f"{shown_text}\u202f{units.label(self.got.typed_unit)}"
        self._set_head()
        self._show_question()

    def _in_figures(self, text: str) -> str:
        """What is typed, with the signs that the person's language writes."""
        return text.replace("-", "\u2212").replace(".", "." if self.app.style.language == "en" else ",")

    def _set_head(self) -> None:
        """Set the name of what is asked for, the number typed and the words under it so that all of it stands whole.

        Name and words take two lines at most and are set smaller where they would need more.
        """
        if self.width <= 0:  # not yet on a screen
            return
        scale, low = self.app.frame.scale, self.app.frame.low
        tight = low and self.error is not None  # on a phone on its side every line counts then
        tall = not low and self.app.height >= TALL
        at_most = 18.0 if tight else min(26.0 if tall else 22.0, th.BODY * scale)  # as drawn, in pixels
        self.typed.size = (30.0 if low else 28.0 + 14 * (min(scale, 2.0) - 1)) / scale
        shut = th.TOUCH + 8 if self.close else 0.0
        self.ask.size = measure.fitted(self.ask.value, self.width - shut, most=at_most, least=13.0, rows=2) / scale
        free = self.width - 8 - measure.width(self.typed.value, self.typed.size * scale)
        words, signed = self.echo.value, self.sign.visible
        edge = th.icon(20) + 6 if signed else 0.0
        small = 15.0 if tight else min(17.0 if low else 24.0 if tall else 20.0, th.SMALL * scale)
        # a sentence that finds no place beside the number stands beneath it; while typing, only its first words
        below = signed and not measure.stands(words, th.SMALL, free - edge, rows=2)
        if below and self.error is None:
            words = words.partition(". ")[0].rstrip(".") + "."
            below = not measure.stands(words, th.SMALL, free - edge, rows=2)
        room = (self.width if below else free) - edge
        rows = 3 if below or not (low or self.app.frame.large) else 2
        if below and self.error is not None and not low:  # a refusal is read before anything else is done
            rows, small = (4, min(26.0, th.BODY * scale)) if tall else (5, small)
        if self.asked is not None:  # the keys make room: it is read before one is pressed
            below, room, rows, small = signed, self.width - edge, 5, min(26.0, th.BODY * scale)
        size = measure.fitted(words, room, most=small, least=13.0, rows=rows) / scale
        self.sign.visible = signed and not below
        self.echo.value = "" if below else words
        self.below.visible = below
        self.sign_below.icon, self.sign_below.color = self.sign.icon, self.sign.color
        self.sign.size = self.sign_below.size = th.icon(20)
        self.echo_below.value, self.echo_below.color = words, self.echo.color
        self.echo_below.weight = self.echo.weight
        self.echo.size = self.echo_below.size = size

    def _show_question(self) -> None:
        """The meanings to choose from in place of the keys, while there is a question."""
        asked = self.asked
        self.question.visible, self.rows.visible = asked is not None, asked is None
        if asked is None:
            self.question.controls = []
            return
        self.question.controls = [
            *(
                parts.button(self.app.t(c.line), self._meaning, data=c, icon=ft.Icons.STRAIGHTEN, height=56)
                for c in asked.choices
            ),
            parts.button(self.app.t(L("Type it again")), self._type_again, icon=ft.Icons.BACKSPACE_OUTLINED),
        ]

    def _answer(self) -> None:
        """Under what is typed: what it means, what is wrong with it, or what is expected."""
        warned = self.warning if self.error is None and not self.text else None
        bad, self.got = self.error is not None or warned is not None, None
        wrong = (self._understand() if self.error is None else self.error) or warned
        self.sign.visible = wrong is not None
        self.sign.icon = ft.Icons.ERROR if bad else ft.Icons.INFO_OUTLINE
        self.sign.color = self.echo.color = "error" if bad else "onsurfacevariant"
        self.echo.value = self._echoed(wrong)
        self.echo.weight = ft.FontWeight.W_600 if bad else None
        for said in self.aloud:
            said.live_region = self.error is not None

    def _understand(self) -> Line | None:
        """Take in what the text will be stored as; while typing, only say what would still be wrong when finished."""
        if self.text.strip("-+ "):
            try:
                self.got = self._taken()
            except UnclearError as question:
                return self._either(question)
            except units.EntryError as problem:
                return problem.line
        return None

    def _either(self, question: UnclearError) -> Line:
        """What a text may mean that Enter would ask about."""
        likely = tuple(c.line for c in question.choices[:2])
        if len(likely) < 2:
            return L("{this}?", this=likely[0])
        return L("{this}, or {that}?", this=likely[0], that=likely[1])

    def _echoed(self, wrong: Line | None) -> str:
        """What stands beside the typed text."""
        if wrong is not None:
            return self.app.t(wrong)
        if self.got is not None:
            return "=  " + self._both(self.got.value)
        return self._hint()

    def _taken_else(self, got: units.Entered) -> bool:
        """Whether what was typed without a unit is taken in another than the field's own."""
        beside = self.unit or units.unit_shown(self.aimed.kind, self.app.style)
        return not self._with_unit and bool(got.typed_unit) and got.typed_unit != beside

    def _both(self, value: float) -> str:
        style, kind = self.app.style, self.aimed.kind
        bits = []
        if kind == "deviation" and self.base_mm:
            size = Qty(self.base_mm + value, "size")
            bits = [figure(size, style), figure(size, style.other())]
        else:
            q = Qty(value, kind)
            bits = [figure(q, style), figure(q, style.other())]
        return "   ".join(dict.fromkeys(bits))

    def _hint(self) -> str:
        """What the field is about, where there is room, and what is expected where there is room for that as well."""
        f, app = self.aimed, self.app
        roomy = self.close is not None and not app.frame.large
        said = [app.t(f.help)] if roomy and f.help else []
        if self.stands is not None:
            said.append(app.t(L("Now {value}. A new entry takes its place.", value=Qty(self.stands, f.kind))))
        elif f.low is not None and f.high is not None and f.kind != "money":  # of money the limits say nothing
            low, high = Bound(f.low, f.kind, low=True), Bound(f.high, f.kind, low=False)
            said.append(app.t(L("Takes {low} to {high}", low=low, high=high)))
        both = " ".join(said)
        free = self.width - 8 - measure.width(self.typed.value, 28)
        rows = 2 if app.frame.low else 3
        if measure.stands(both, th.SMALL, free, rows=rows) or not said:
            return both
        return said[-1] if self.stands is not None else said[0]  # what it means comes before what is likely

    def take_focus(self) -> None:
        """Take the keyboard's focus off every button, so that Enter means the pad's Enter and nothing else."""
        self.tabbed = False
        self.app.page.run_task(self._focus, self.sink)

    async def _focus(self, control: ft.KeyboardListener | ft.Button) -> None:
        with suppress(Exception):  # the pad may be gone again
            focus: Callable[[], Awaitable[None]] = control.focus
            await focus()

    def tell(self, *more: ft.Control) -> None:
        """Send what the pad says now, its keys stay as they are, and ``more`` that changed with it."""
        now = self.question.visible, self.unit_key.visible
        changed = (self.rows, self.question) if self._sent != now else (self.unit_face,)
        self._sent = now
        self.app.update(self.head, *changed, *more)

    def fit(self) -> ft.Control:
        """Set the sizes for the screen as it is now, and return the pad. A key's face never grows out of its key."""
        app = self.app
        high = th.TOUCH if app.height < 700 else 58 if app.frame.large else 52
        self.width = app.frame.foot_width - 16
        self.large_undo.visible, self.small_undo.visible = self.roomy, self.undo is not None and not self.roomy
        self._fit_keys(high)
        self._paint()
        return self.control

    @property
    def roomy(self) -> bool:
        """Whether there is room for the large key that takes the last entry back."""
        return self.undo is not None and self.app.height >= ROOMY and not self.app.frame.large

    def _fit_keys(self, high: float) -> None:
        scale, wide = self.app.frame.scale, (self.app.frame.foot_width - 16 - 24) / 5
        for face, size in self.faces:
            span = wide * (2 if face is self.next_face else 1) - 8
            fits = measure.fitted(face.value, span, most=size, least=8, scale=scale)
            face.size = min(fits, 0.8 * high / scale)
        for key in self.keys:
            key.height = high
            if isinstance(key.content, ft.Icon):
                key.content.size = min(0.7 * high, th.icon(26))

    def _lay_keys(self) -> list[ft.Control]:
        """The keys, anew: for a thumb, or so that the keyboard's focus can go to each."""
        t = self.app.t
        self.keys: list[padkeys.Key] = []
        self.unit_face = ft.Text("", weight=ft.FontWeight.W_600, no_wrap=True)
        self.next_face = ft.Text(self.next_word, weight=ft.FontWeight.W_700, no_wrap=True)
        self.faces: list[tuple[ft.Text, int]] = [(self.unit_face, th.LARGE), (self.next_face, th.LARGE)]

        def key(face: Any, name: str, spoken: str | None = None, *, strong: bool = False) -> ft.Control:
            if isinstance(face, str):
                face = ft.Text(face, weight=ft.FontWeight.W_600, semantics_label=spoken, no_wrap=True)
                self.faces.append((face, th.KEY))
            elif not isinstance(face, ft.Text):
                face = ft.Icon(face, size=26, semantics_label=spoken)
            whole, fitted = padkeys.key(face, self._clicked, name, strong=strong, focus=self.app.by_keys)
            self.keys.append(fitted)
            return whole

        def row(*keys: ft.Control) -> ft.Control:
            return ft.Row(list(keys), spacing=6)

        self.unit_key = key(self.unit_face, "unit")
        back = key(ft.Icons.BACKSPACE_OUTLINED, "back", t(L("Delete digit")))
        self.small_undo = key(ft.Icons.UNDO, "undo", t(L("Undo the last entry")))
        digits = [
            row(key("7", "7"), key("8", "8"), key("9", "9")),
            row(key("4", "4"), key("5", "5"), key("6", "6")),
            row(key("1", "1"), key("2", "2"), key("3", "3")),
            row(key(".", ".", t(L("decimal point"))), key("0", "0"), key("a/b", "/", t(L("fraction")))),
        ]
        self.point_face = next(face for face, _ in self.faces if face.value == ".")
        side = [
            row(self.small_undo, back),
            row(key("±", "sign", t(L("Change sign"))), self.unit_key),
            row(
                key(ft.Icons.KEYBOARD_ARROW_DOWN, "less", t(L("One division down"))),
                key(ft.Icons.KEYBOARD_ARROW_UP, "more", t(L("One division up"))),
            ),
            row(key(self.next_face, "next", strong=True)),
        ]
        self.small_undo.visible = self.undo is not None
        return [ft.Column(digits, spacing=6, expand=3), ft.Column(side, spacing=6, expand=2)]

    def _build(self) -> ft.Control:
        t = self.app.t
        close = [parts.icon_button(ft.Icons.CLOSE, t(L("Close the pad")), self.close)] if self.close else []
        self.sign_below, self.echo_below = ft.Icon(ft.Icons.INFO_OUTLINE, size=20), parts.muted("")
        # while something is typed it speaks only when asked; a refusal is announced
        self.aloud = [ft.Semantics(container=True, expand=True, content=echo) for echo in (self.echo, self.echo_below)]
        self.below = ft.Row(
            [self.sign_below, self.aloud[1]], spacing=6, vertical_alignment=ft.CrossAxisAlignment.START, visible=False
        )
        self.head = ft.Column(
            [
                ft.Row([ft.Container(self.ask, expand=True), *close], spacing=8),
                ft.Row([self.sign, self.aloud[0], self.typed], spacing=6),
                self.below,
            ],
            spacing=4,
        )
        self.rows = ft.Row(self._lay_keys(), spacing=6)
        self.large_undo = parts.button(t(L("Undo the last entry")), self._clicked, data="undo", icon=ft.Icons.UNDO)
        self.large_undo.visible = False
        self.question = ft.Column([], spacing=6, visible=False, horizontal_alignment=ft.CrossAxisAlignment.STRETCH)
        self.sink = ft.KeyboardListener(content=self.head)
        return ft.Container(
            bgcolor="surfacecontainer",
            padding=ft.Padding.only(left=8, right=8, top=4, bottom=8),
            content=ft.Column(
                [self.sink, self.large_undo, parts.apart(self.rows), self.question],
                spacing=6,
                horizontal_alignment=ft.CrossAxisAlignment.STRETCH,
            ),
        )

    async def _by_keys(self) -> None:
        """From the first Tab on, the keys are such that the focus can go to them; it goes to the first."""
        if self.app.by_keys:
            return
        self.app.by_keys = True
        self.rows.controls = self._lay_keys()
        self.fit()
        self.app.update(self.rows)
        first = next(key for key in self.keys if key.data == "7")
        if isinstance(first, ft.Button):
            await self._focus(first)

    async def _clicked(self, e: Pressed) -> None:
        self.tabbed = False
        await self.press(e.control.data)
