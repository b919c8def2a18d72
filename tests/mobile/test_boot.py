"""The page's first script, in Node on a made-up page: whatever the locale, and what the person asks of colours."""

from __future__ import annotations

from typing import Any

import pytest

from . import in_node


@pytest.fixture(scope="module")
def page() -> dict[str, Any]:
    return in_node.run("boot.mjs", "boot.js")


@pytest.mark.parametrize(
    ("locale", "languages"),
    [
        ("c", ["en"]),
        ("posix", ["en-US", "de-DE"]),
        ("spelt", ["de-DE"]),
        ("alone", ["en"]),
        ("odd", ["en"]),
        ("none", ["en"]),
        ("sound", ["de-DE", "en"]),
    ],
)
def test_a_locale_that_names_no_language_is_survived(page: dict[str, Any], locale: str, languages: list[str]) -> None:
    """The drawing engine stops on a tag that is no language of BCP 47; what is one is kept, in its order,
    and a system's way of spelling it is put right."""
    assert page[locale]["languages"] == languages and page[locale]["language"] == languages[0]
    assert page[locale]["posted"][0]["start"] is True


def test_what_the_person_asks_of_colours_goes_along_with_the_start(page: dict[str, Any]) -> None:
    begun = {name: page[name]["posted"][0]["contrast"] for name in ("sound", "more", "forced")}
    assert begun["sound"] == {"more": False, "colours": {}} and begun["more"] == {"more": True, "colours": {}}
    assert begun["forced"] == {
        "more": False,
        "colours": {"ground": "#000000", "ink": "#ffffff", "chosen": "#1aebff", "on_chosen": "#010203"},
    }
    # and is told when it changes: once for each of the two that are listened to
    assert [said["told"] for said in page["forced"]["posted"][1:]] == ["contrast", "contrast"]


def test_a_change_of_colours_is_told_though_it_was_read_a_moment_before(page: dict[str, Any]) -> None:
    """Chromium tells a query of no change that was read off it already: seen as forced colours that were not drawn."""
    assert [said["told"] for said in page["read"]["posted"][1:]] == ["contrast"]


def test_what_python_answers_is_drawn_at_once_and_in_one_go(page: dict[str, Any]) -> None:
    """A press is answered when it can be seen: the drawing does not wait until the screen is renewed next, and what was
    sent together is drawn together."""
    first, then = page["answered"]["first"], page["answered"]["then"]
    assert page["answered"]["unasked"] == {"drawn": [], "waiting": 1}  # what nobody waits for takes its turn
    assert first["handed"] == [[1], [2]] and first["before"] == 0
    assert first["drawn"][0] == 2  # both parts were there by then
    assert then["handed"] == [[1], [2], [3]]
    assert then["drawn"] == first["drawn"] and then["waiting"] == first["waiting"] + 1  # no more than one in a renewal
    assert page["answered"]["last"] == [*then["drawn"], 4]
