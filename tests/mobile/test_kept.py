"""Is everything kept? The page asks the service worker: both in Node, on a made-up browser and by a clock of its own.

Nothing outside the project is compared with here. What a browser may do to a service worker is from the standard
(W3C, Service Workers): it may end one at any time, with a question unanswered, and start it again for the next.
"""

from __future__ import annotations

from typing import Any

import pytest

from . import in_node


@pytest.fixture(scope="module")
def made() -> dict[str, Any]:
    return in_node.run("kept.mjs", "boot.js", "sw.js")


@pytest.mark.parametrize(("device", "seconds"), [("quick", 10), ("slow", 45), ("slower", 230)])
def test_a_slow_device_comes_to_an_end_of_it(made: dict[str, Any], device: str, seconds: int) -> None:
    """34 files, each read in no time, in 1 s and in 6 s: no look may be given up and begun anew for ever."""
    got = made[device]
    assert got["ready"] and got["kept"] == got["total"] == 34 and got["took"] <= seconds


def test_a_worker_that_was_ended_is_asked_again(made: dict[str, Any]) -> None:
    """Two questions are lost: 8 s each."""
    assert made["ended"]["ready"] and made["ended"]["took"] <= 25


def test_a_worker_that_is_shown_as_dead_while_it_is_in_charge_is_asked_another_way(made: dict[str, Any]) -> None:
    """As Firefox shows it in about every second first visit on a busy machine."""
    got = made["dead"]
    assert got["ready"] and got["kept"] == got["total"] == 34 and got["took"] <= 45


def test_a_file_that_is_gone_is_named_wherever_the_look_was_divided(made: dict[str, Any]) -> None:
    gone = made["gone"]
    assert (gone["missing"], gone["kept"], gone["total"], gone["ready"]) == (["file20"], 33, 34, False)


@pytest.mark.parametrize(("silent", "seconds"), [("never", 32), ("mute", 20)])
def test_who_never_answers_is_not_waited_for_without_end(made: dict[str, Any], silent: str, seconds: int) -> None:
    assert made[silent]["got"]["failed"].startswith("no answer from the ") and made[silent]["seconds"] == seconds


def test_a_page_that_nobody_took_charge_of_is_taken_charge_of_when_it_asks(made: dict[str, Any]) -> None:
    assert made["unclaimed"]["ready"] and made["unclaimed"]["took"] <= 10


def test_what_could_not_be_kept_is_tried_again_in_the_same_visit(made: dict[str, Any]) -> None:
    """An install that broke off twice, and one that was refused: after 8 s, 16 s and so on, or when the network is back."""
    assert made["broken"]["ready"] and made["broken"]["registered"] == 3 and made["broken"]["took"] < 40
    assert made["noNetwork"]["ready"] and made["noNetwork"]["took"] < 20
    assert made["back"] == 2


def test_it_is_not_tried_for_ever_where_it_is_of_no_use(made: dict[str, Any]) -> None:
    """What the browser forbids is asked for no more than at the start and after a minute; in an hour without a network, nine times."""
    assert made["forbidden"] == 2 and made["failing"] == 9
