"""Installed, kept and started with no network; updates offered and never forced."""

from __future__ import annotations

import json
import shutil
import time
from collections.abc import Callable
from pathlib import Path

from .harness import Phone, Site

UPDATE = "async () => { const r = await navigator.serviceWorker.getRegistration(); await r.update().catch(() => {}); }"
STATE = """async () => {
  const r = await navigator.serviceWorker.getRegistration();
  const ask = sw => sw ? new Promise(done => {
    const channel = new MessageChannel();
    channel.port1.onmessage = e => done(e.data.version);
    sw.postMessage({type: 'version'}, [channel.port2]);
  }) : null;
  // the active one is not asked while another waits: a browser swaps them when the old one is idle
  return {active: r.waiting ? null : await ask(r.active), waiting: await ask(r.waiting), installing: !!r.installing,
    caches: (await caches.keys()).filter(name => !name.startsWith('boreside-start'))};
}"""
ACTIVE = STATE.replace("r.waiting ? null : await", "await")


def about(folder: Path) -> dict:
    return json.loads((folder / "build.json").read_text())


def cache_of(version: str) -> str:
    """The name of a version's store, with the drawing engine that a Chromium takes."""
    return f"boreside / {version} chromium"


def until(phone: Phone, good, *, timeout: float = 60) -> dict:
    end = time.monotonic() + timeout
    state: dict = {}
    while True:
        try:
            state = phone.page.evaluate(STATE)
        except Exception as error:  # the page is being loaded again just now
            if "navigation" not in str(error):
                raise
        if state and good(state):
            return state
        assert time.monotonic() < end, state
        time.sleep(0.2)


def installable(phone: Phone) -> None:
    """The browser finds nothing wrong with the app's manifest, and offers to install it."""
    devtools = phone.context.new_cdp_session(phone.page)
    assert devtools.send("Page.getInstallabilityErrors")["installabilityErrors"] == []
    found = devtools.send("Page.getAppManifest")
    assert found["errors"] == []
    manifest = json.loads(found["data"])
    assert manifest["display"] == "standalone" and {i["purpose"] for i in manifest["icons"]} == {"any", "maskable"}
    end = time.monotonic() + 60
    while not phone.page.evaluate("() => boreside.answers.installable()")["prompt"]:
        assert time.monotonic() < end, "the browser never offered to install"
        time.sleep(0.2)


def test_first_visit_keeps_every_file_and_fetches_none_twice_and_later_starts_need_no_network(
    new_phone: Callable[..., Phone], site: Site, built: Path
) -> None:
    phone = new_phone(quick=False, whole=True)  # all of the browser: what a person has
    site.server.sent.clear()
    phone.open()
    assert phone.page.evaluate("boreside.from") == "files"
    kept = phone.offline_kept()
    assert kept["version"] == about(built)["version"]
    assert kept["kept"] == kept["total"] > 20 and kept["missing"] == []
    assert phone.page.evaluate(STATE)["caches"] == [cache_of(kept["version"])]
    phone.assert_private()
    twice = {
        name: sent
        for name, sent in site.server.sent.items()
        if sent > 1.5 * (built / name).stat().st_size and name != "sw.js"
    }
    assert not twice, twice
    # the drawing engine of another kind of browser is not fetched
    assert "canvaskit/canvaskit.wasm" not in site.server.sent
    installable(phone)
    phone.remembered()
    phone.wait("Ready to work offline")
    there = phone.labels()
    phone.close()
    site.stop()
    phone.launch()
    phone.context.set_offline(True)
    phone.open()
    assert phone.page.evaluate("boreside.from") == "memory"
    phone.wait("Ready to work offline")
    assert phone.labels() == there
    assert phone.offline_kept()["controlled"]
    other = phone.second_tab()
    other.goto(phone.url + "index.html")
    end = time.monotonic() + 60
    while other.title() != "Boreside":  # the starting app takes it away for a moment
        assert time.monotonic() < end, other.title()
        time.sleep(0.1)
    other.close()
    phone.reload()
    phone.wait("Ready to work offline")
    assert phone.labels() == there
    phone.assert_private()
    assert phone.errors == []


def test_an_update_is_offered_and_taken_only_on_a_yes(phone: Phone, site: Site, built: Path, built_next: Path) -> None:
    old, new = about(built)["version"], about(built_next)["version"]
    assert old != new
    phone.open()
    phone.offline_kept()
    site.serve(built_next)
    site.server.sent.clear()
    phone.page.evaluate(UPDATE)
    state = until(phone, lambda s: s["waiting"])
    assert state["waiting"] == new and phone.page.evaluate(ACTIVE)["active"] == old
    assert set(state["caches"]) == {cache_of(old), cache_of(new)}
    # only what changed was fetched: the archive, and the two scripts that know its digest
    assert set(site.server.sent) <= {"app.zip", "worker.js", "sw.js"}, site.server.sent
    # a reload, and even a restart, stays on the version in use
    phone.reload()
    assert phone.page.evaluate(ACTIVE)["active"] == old
    # the person says yes
    assert phone.page.evaluate("() => boreside.answers.update()") == {
        "waiting": True,
        "version": new,
        "built": about(built_next)["built"],
    }
    assert phone.page.evaluate("() => boreside.answers.apply()") is True
    state = until(phone, lambda s: s["active"] == new and not s["waiting"] and len(s["caches"]) == 1)
    phone.started()
    assert state["caches"] == [cache_of(new)]
    phone.airplane()
    phone.reload()
    assert phone.offline_kept()["version"] == new
    phone.assert_private()


def test_a_broken_update_changes_nothing(
    phone: Phone, site: Site, built: Path, built_next: Path, tmp_path: Path
) -> None:
    old = about(built)["version"]
    phone.open()
    phone.offline_kept()
    broken = tmp_path / "broken"
    shutil.copytree(built_next, broken)
    archive = (broken / "app.zip").read_bytes()
    (broken / "app.zip").write_bytes(archive[: len(archive) // 2])
    site.serve(broken)
    phone.page.evaluate(UPDATE)
    state = until(phone, lambda s: not s["installing"] and not s["waiting"] and len(s["caches"]) == 1)
    assert state["active"] == old and state["caches"] == [cache_of(old)]
    phone.airplane()
    phone.reload()
    assert phone.offline_kept()["version"] == old


INSTALL = """async (address) => {
  const found = await navigator.serviceWorker.register(address, {scope: './', updateViaCache: 'none'});
  const coming = found.installing || found.waiting;
  if (!coming) return 'as it was';
  while (!['installed', 'activated', 'redundant'].includes(coming.state)) await new Promise(done => setTimeout(done, 50));
  return coming.state;
}"""


def test_a_failed_install_of_the_same_version_touches_nothing_that_is_in_use(
    phone: Phone, site: Site, built: Path, tmp_path: Path
) -> None:
    """With another drawing engine, with the same one under another address, and built again at another minute."""
    phone.open()
    kept = phone.offline_kept()
    broken = tmp_path / "broken"
    shutil.copytree(built, broken)
    for lost in ("canvaskit/canvaskit.wasm", "app.zip"):
        (broken / lost).unlink()
    # of the files in use one is gone from the store, so that an install of the same files has to fetch it
    phone.page.evaluate(
        "async ([cache, path]) => { await (await caches.open(cache)).delete(new URL(path, document.baseURI).href); }",
        [cache_of(kept["version"]), "app.zip"],
    )
    site.serve(broken)
    for address in ("sw.js?canvas=full", "sw.js?canvas=chromium&again"):
        assert phone.page.evaluate(INSTALL, address) == "redundant", address
    worker = (broken / "sw.js").read_text()
    (broken / "sw.js").write_text(worker.replace(about(built)["built"], "2001-01-01T00:00Z"))
    assert phone.page.evaluate(INSTALL, "sw.js?canvas=chromium&later") == "redundant"
    state = until(phone, lambda s: not s["installing"] and not s["waiting"])
    assert state["active"] == kept["version"] and state["caches"] == [cache_of(kept["version"])]
    now = phone.page.evaluate("() => boreside.answers.offline(true)")
    assert now["missing"] == ["app.zip"] and now["kept"] == kept["kept"] - 1
    site.serve(built)
    assert phone.page.evaluate("async () => (await fetch('app.zip')).status") == 200
    phone.airplane()
    phone.reload()
    assert phone.offline_kept()["kept"] == kept["kept"]


def test_another_drawing_engine_takes_over_before_the_old_one_goes(phone: Phone, site: Site) -> None:
    phone.open()
    version = phone.offline_kept()["version"]
    full = cache_of(version).replace("chromium", "full")
    assert phone.page.evaluate(INSTALL, "sw.js?canvas=full") == "installed"
    state = phone.page.evaluate(STATE)
    assert state["waiting"] == version and set(state["caches"]) == {cache_of(version), full}
    # asked for its state, the one in use clears nothing away that the waiting one will need
    assert phone.page.evaluate("() => boreside.answers.offline(true)")["ready"]
    assert set(phone.page.evaluate(STATE)["caches"]) == {cache_of(version), full}
    assert phone.page.evaluate("() => boreside.answers.apply()") is True
    until(phone, lambda s: not s["waiting"] and s["caches"] == [full])


def test_the_notices_are_there_without_a_network(kept_phone: Phone) -> None:
    kept_phone.offline_kept()
    kept_phone.airplane()
    try:
        text = kept_phone.page.evaluate("async () => (await fetch('NOTICES.txt')).text()")
    finally:
        kept_phone.airplane(False)
    assert "flutter" in text and len(text) > 100_000


def test_a_file_lost_from_the_store_is_noticed_and_mended(phone: Phone, site: Site) -> None:
    phone.open()
    kept = phone.offline_kept()
    lost = "assets/fonts/text.woff2"
    phone.page.evaluate(
        "async ([cache, path]) => { await (await caches.open(cache)).delete(new URL(path, document.baseURI).href); }",
        [cache_of(kept["version"]), lost],
    )
    answer = phone.page.evaluate("() => boreside.answers.offline(false)")
    assert not answer["ready"] and answer["missing"] == [lost] and answer["kept"] == answer["total"] - 1
    assert phone.page.evaluate("async path => (await fetch(path)).status", lost) == 200
    assert phone.page.evaluate("() => boreside.answers.offline(true)")["ready"]
    # contents that were changed are found by the deep look
    phone.page.evaluate(
        """async ([cache, path]) => {
          const store = await caches.open(cache), key = new URL(path, document.baseURI).href;
          const held = await store.match(key);
          const bytes = new Uint8Array(await held.arrayBuffer());
          bytes[100] ^= 1;
          await store.put(key, new Response(bytes, {headers: held.headers}));
        }""",
        [cache_of(kept["version"]), lost],
    )
    answer = phone.page.evaluate("() => boreside.answers.offline(true)")
    assert not answer["ready"] and answer["missing"] == [lost]


def test_nothing_runs_or_loads_from_elsewhere(kept_phone: Phone) -> None:
    phone = kept_phone
    phone.offline_kept()
    policy = phone.page.evaluate("async () => (await fetch('index.html')).headers.get('Content-Security-Policy')")
    assert (
        "default-src 'none'" in policy
        and "script-src 'self' 'wasm-unsafe-eval'" in policy
        and "frame-ancestors 'none'" in policy
    )
    meta = phone.page.get_attribute("meta[http-equiv=Content-Security-Policy]", "content")
    assert policy.startswith(meta)
    # text is never run as a script, neither on the page nor where Python runs
    assert phone.page.evaluate(
        "() => { const s = document.createElement('script'); s.textContent = 'window.ran = 1'; document.body.append(s); return window.ran === undefined; }"
    )
    before = len(phone.requests)
    for code in ("fetch('https://host.invalid/x')", "fetch('http://127.0.0.1:9/x')"):
        assert (
            phone.page.evaluate(
                f"async () => {{ try {{ await {code}; return 'went'; }} catch (e) {{ return e.name; }} }}"
            )
            == "TypeError"
        )
    assert phone.page.evaluate("async () => (await fetch('not/in/the/app.js')).status") == 404
    assert phone.page.evaluate("async () => (await fetch('app.zip', {method: 'POST', body: 'x'})).status") == 405
    del phone.requests[before:]
    phone.assert_private()
