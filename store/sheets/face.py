"""The top face: its heights above the main-bearing axis, and what they make of the bores."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, TypeVar

from logic import face
from logic.cautions import for_sheet
from logic.places import place_name
from logic.result import Assumption, Result, Verdict
from logic.say import L, Qty

from ..assumed import with_assumed
from ..facts.banks import banks
from ..facts.block import bore_length_mm
from ..facts.face import (
    bore_places_mm,
    decks,
    fitted,
    lean,
    lean_as_found,
    lean_as_planned,
    remedied,
    skim_mm,
    skim_plan,
    taken_u_mm,
)
from ..facts.settling import next_height
from ..fields.face import (
    BASE_LENGTH,
    BASE_WIDTH,
    DECKS,
    DIRT,
    FIRST,
    FOOT_X,
    FOOT_Y,
    HEIGHT,
    HEIGHT_U,
    LIMIT,
    REMEDY,
    SKIM,
    SQUARED,
    TAKEN,
    Deck,
    X,
    Y,
)
from ..kit import needs
from ..view import View
from .base import Group, Sheet, Work

__all__ = [
    "CAUTIONS",
    "FOOT_X",
    "FOOT_Y",
    "HEIGHT",
    "HEIGHT_U",
    "REMEDY",
    "SHEET",
    "SKIM",
    "X",
    "Y",
    "fitted",
    "lean",
    "skim_mm",
]

CAUTIONS = for_sheet("face")


def _feet(view: View) -> list[tuple[float, float]]:
    xs, ys = view.events(FOOT_X, "foot"), view.events(FOOT_Y, "foot")
    given = [(xs[n].value, ys[n].value) for n in sorted(xs.keys() & ys.keys())]
    return given if len(given) >= 3 else face.corners_mm(view.number(BASE_LENGTH), view.number(BASE_WIDTH))


def _missing(view: View, deck: Deck) -> tuple[tuple[str, Mapping[str, Any]], ...]:
    """Halves of points begun; and two points at least."""
    xs, heights = view.events(deck.x, "point"), view.events(deck.height, "point")
    begun = sorted(xs.keys() | heights.keys())
    for n in range(1, 3):
        if len(begun) < 2 and n not in begun:
            begun.append(n)
    return tuple(
        (f.key, {"point": n}) for n in begun for f, have in ((deck.x, xs), (deck.height, heights)) if n not in have
    )


def _remedy_missing(view: View, deck: Deck) -> tuple[tuple[str, Mapping[str, Any]], ...]:
    """What says that the remedy chosen was carried out, while nobody has said it."""
    told = {"skim": deck.skim, "shim": deck.squared}.get(view.choice(deck.remedy))
    return () if told is None or view.get(told) is not None else ((told.key, {}),)


def _remedies(view: View, bank: int, found: face.Face, *, square: bool) -> list[Result]:
    """What the remedy chosen leaves; and what a skim and shims would take where the face is not square, or one is chosen."""
    remedy = view.choice(DECKS[bank - 1].remedy)
    results: list[Result] = []
    if remedy != "none":
        leans = [one for c in bore_places_mm(view, bank) if (one := lean_as_planned(view, c)) is not None]
        results.append(face.after_remedy(leans, skimmed=remedy == "skim"))
    skim = skim_plan(view, bank)
    if skim is not None and (remedy == "skim" or not square):
        results.append(skim)
    if remedy == "shim" or not square:
        feet = _feet(view)
        results += [face.shims(found, feet, cylinder=c, x_mm=x) for c, x in bore_places_mm(view, bank).items()]
    return results


R = TypeVar("R", bound=Result)

#: Blocks of three banks and more are hardly ever bored where they stand (common practice, no source), so two decks are asked for.
_NOT_ASKED = L("A third bank's deck is not asked for: it counts as not measured.")

#: What makes heights less sure that were not taken from a bar in the mains.
_TAKEN = {
    "journals": L("Heights from the main journals: oil clearance and wear come in"),
    "rail": L("Heights from the sump rail: nobody machined it to the mains"),
}


def _as_taken(ready: R, view: View) -> R:
    """The same with what the heights were taken from, where that makes them less sure."""
    told = _TAKEN.get(view.choice(TAKEN) or "")
    if told is None:
        return ready
    more = Assumption(L("{what} (± {u})", what=told, u=Qty(2 * taken_u_mm(view), "fine")))
    return replace(ready, assumptions=(*ready.assumptions, more))


def _dirt(view: View) -> Result:
    """What dirt under the base would do."""
    found = face.dirt(
        view.number(DIRT),
        base_mm=view.number(BASE_LENGTH),
        length_mm=bore_length_mm(view),
        limit_mm=view.number(LIMIT),
    )
    told = with_assumed(found, view, BASE_LENGTH, LIMIT)
    more = (Assumption(_NOT_ASKED),) if len(banks(view)) > len(DECKS) else ()
    return replace(told, assumptions=(*told.assumptions, *more))


def _of_bank(view: View, result: Result, bank: int) -> Result:
    """An answer with its bank, where there is more than one deck."""
    if len(decks(view)) < 2:
        return result
    line = L("Bank {bank}: {answer}", bank=bank, answer=result.line)
    return replace(result, key=result.key if bank == 1 else f"{result.key}.bank{bank}", line=line)


def _deck(view: View, bank: int) -> Work:
    """Go or no go for one bank's deck, then what a skim or shims would take."""
    deck = DECKS[bank - 1]
    missing, found = _missing(view, deck), fitted(view, bank)
    if found is None:
        blocked = None if missing else L("All heights are at one place: measure at another place as well.")
        return Work(missing=missing, blocked=blocked)
    places = bore_places_mm(view, bank)
    leans = [one for c in places if (one := lean_as_found(view, c)) is not None]
    ready = _as_taken(with_assumed(face.ready(found, leans), view, HEIGHT_U, LIMIT), view)
    square = ready.verdict == Verdict.GO
    missing += _remedy_missing(view, deck)
    results = (ready, *_remedies(view, bank, found, square=square))
    return Work(
        results=tuple(_of_bank(view, r, bank) for r in results),
        missing=missing,
        done=not missing and (square or remedied(view, bank)),
        pictures=(face.picture(found, leans, places),),
    )


def work(view: View) -> Work:
    """Each deck's go or no go first, then what a skim or shims would take, and what dirt would do."""
    made = [_deck(view, bank) for bank in decks(view)]
    return Work(
        results=(*(r for one in made for r in one.results), _dirt(view)),
        missing=tuple(m for one in made for m in one.missing),
        blocked=next((one.blocked for one in made if one.blocked is not None), None),
        done=all(one.done for one in made),
        pictures=tuple(p for one in made for p in one.pictures),
        cautions=CAUTIONS,
    )


def _grown(view: View, place: str, keys: tuple[str, ...], least: int) -> list[dict[str, Any]]:
    used = [n for key in keys for n in view.events(key, place)]
    return [{place: n} for n in range(1, max([least - 1, *used]) + 2)]


def _vee(view: View) -> bool:
    return len(decks(view)) > 1


_SECOND = DECKS[1]

SHEET = Sheet(
    key="face",
    order=8,
    title=L("Deck"),
    purpose=L("Find out whether the machine will stand square to the crank on this deck, before it is clamped there."),
    groups=(
        Group(
            key="heights",
            title=L("Heights"),
            fields=(X, Y, HEIGHT),
            places=lambda view: _grown(view, "point", (X.key, Y.key, HEIGHT.key), 4),
            name=place_name,
            grows=True,
            help=L("Best at six points: both sides at the front, in the middle and at the rear. At least two."),
        ),
        Group(
            key="heights2",
            title=L("Heights, bank 2"),
            fields=(_SECOND.x, _SECOND.y, _SECOND.height),
            places=lambda view: (
                _grown(view, "point", (_SECOND.x.key, _SECOND.y.key, _SECOND.height.key), 4) if _vee(view) else []
            ),
            name=place_name,
            grows=True,
            help=L("Two banks have two decks: measure each, from the same bar in the mains."),
        ),
        Group(key="limits", title=L("What counts"), fields=(TAKEN, LIMIT, HEIGHT_U, FIRST)),
        Group(key="remedy", title=L("What is done about it"), fields=(REMEDY, SKIM, SQUARED)),
        Group(
            key="remedy2",
            title=L("Bank 2: place of its bores, what is done"),
            fields=(_SECOND.first, _SECOND.remedy, _SECOND.skim, _SECOND.squared),
            places=lambda view: [{}] if _vee(view) else [],
        ),
        Group(key="base", title=L("The machine's base"), fields=(BASE_LENGTH, BASE_WIDTH, DIRT)),
        Group(
            key="feet",
            title=L("The machine's feet"),
            fields=(FOOT_X, FOOT_Y),
            places=lambda view: _grown(view, "foot", (FOOT_X.key, FOOT_Y.key), 3),
            name=place_name,
            grows=True,
            help=L("Only where the feet are not the corners of the base."),
        ),
    ),
    work=work,
    later=next_height,
    minutes=(15, 0),
    idle=lambda view: needs(view, "mains", L("Needs a straight bar in the main bearings")),
    cautions=CAUTIONS,
)
