"""On a computer, with no browser round the app, the bridge answers plainly."""

from __future__ import annotations

import asyncio

from mobile import bridge


def test_answers_on_a_computer() -> None:
    async def go() -> None:
        assert not bridge.IN_BROWSER
        assert await bridge.offline_ready() == bridge.Offline(True, "computer")
        assert await bridge.update_waiting() == bridge.Update(False)
        assert await bridge.apply_update() is False
        assert await bridge.install_prompt_available() == bridge.Install(False, False)
        assert await bridge.prompt_install() == "unavailable"
        assert await bridge.persist_storage() == "kept"
        assert await bridge.marks() == []
        assert bridge.listen(lambda what, value: None) is None
        for nothing in (bridge.shown, bridge.reload):
            assert await nothing() is None

    asyncio.run(go())


def test_a_null_of_the_page_is_none() -> None:
    null = type("JsNull", (), {"__bool__": lambda self: False})()
    told = {"lasting": null, "used": 3.0, "rows": [null, "a"], "installed": False}
    assert bridge.plain_of(told) == {"lasting": None, "used": 3.0, "rows": [None, "a"], "installed": False}
    assert bridge.plain_of(null) is None and bridge.plain_of(0) == 0 and bridge.plain_of(b"") == b""
