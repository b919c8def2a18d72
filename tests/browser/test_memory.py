"""Started from the memory that was kept of an earlier start, and started where that or a file does not serve."""

from __future__ import annotations

import re
import shutil
import time
from pathlib import Path

import pytest

from .harness import Phone, Site
from .test_job import new_job
from .test_offline import UPDATE, until


def kept_names(phone: Phone, name: str) -> list[str]:
    """What a store of a started memory holds."""
    return phone.page.evaluate(
        "async name => (await (await caches.open(name)).keys()).map(r => r.url.split('/').pop()).sort()", name
    )


def start_store(phone: Phone) -> str:
    """The name of the store that the started memory is kept in."""
    (name,) = [n for n in phone.page.evaluate("caches.keys()") if n.startswith("boreside-start")]
    return name


def begun(phone: Phone, name: str) -> None:
    """Wait until the mark of a start under way is gone, so that the next start may use the memory again."""
    end = time.monotonic() + 60
    while kept_names(phone, name) != ["memory"]:
        assert time.monotonic() < end, kept_names(phone, name)
        time.sleep(0.1)


def test_a_start_from_memory_stores_and_makes_ids_like_any_other(phone: Phone, site: Site) -> None:
    site.stop()
    phone.open()
    assert phone.page.evaluate("boreside.from") == "memory"
    name = start_store(phone)
    new_job(phone)
    first = phone.page.url
    begun(phone, name)
    phone.restart()
    phone.open()
    assert phone.page.evaluate("boreside.from") == "memory"
    phone.wait(re.compile("^Job of"))
    # chance is not remembered: two starts from one memory do not make the same ids
    phone.clear()
    phone.restart()
    phone.open()
    assert phone.page.evaluate("boreside.from") == "memory"
    phone.wait("0 on this device")
    new_job(phone)
    assert phone.page.url != first
    phone.assert_private()
    assert phone.errors == []


#: Ways to spoil a kept memory. What is put back first is the memory as it was kept, beside two starts that failed.
HARM = """async ([name, harm]) => {
  const store = await caches.open(name), at = (what) => new URL(what, document.baseURI).href;
  const spare = await caches.open('spare');
  if (!await spare.match(at('memory'))) await spare.put(at('memory'), await store.match(at('memory')));
  const held = await spare.match(at('memory')), headers = held.headers;
  const bytes = new Uint8Array(await held.arrayBuffer());
  await store.put(at('failures'), new Response('2'));
  let now = new Response(bytes, {headers});
  if (harm === 'cut') now = new Response(bytes.slice(0, 1000), {headers});
  if (harm === 'garbage') now = new Response(bytes.fill(7, 0, 64), {headers});
  if (harm === 'a constant') {
    // 25.4 and 0.0254 as Python holds them in memory, each made another number
    const view = new DataView(bytes.buffer);
    const inches = new Set([25.4, 0.0254]);
    let found = 0;
    for (let i = 0; i + 8 <= bytes.length; i += 8) if (inches.has(view.getFloat64(i, true))) { view.setFloat64(i, 0.02, true); found++; }
    if (!found) throw new Error('no constant there to be changed');
    now = new Response(bytes, {headers});
  }
  if (harm === 'no digest') now = new Response(bytes);
  if (harm === 'unfinished') { await store.put(at('trying'), new Response('1000')); await store.delete(at('failures')); }
  await store.put(at('memory'), now);
}"""


def test_a_memory_that_does_not_serve_is_dropped_and_made_anew_where_that_is_worth_it(
    phone: Phone, site: Site, built_next: Path
) -> None:
    phone.open()
    assert phone.page.evaluate("boreside.from") == "memory"
    phone.offline_kept()
    name = start_store(phone)
    begun(phone, name)
    phone.wait("Ready to work offline")
    there = phone.labels()
    for harm in ("unfinished", "cut", "garbage", "a constant", "no digest"):
        phone.console.clear()
        phone.page.evaluate(HARM, [name, harm])
        phone.reload()
        assert phone.page.evaluate("boreside.from") == "files", harm
        phone.wait("Ready to work offline")
        assert phone.labels() == there, harm
        assert kept_names(phone, name) == ["failures"], harm
        if harm == "unfinished":  # the first time: it is made anew
            assert phone.remembered() == name
            assert kept_names(phone, name) == ["failures", "memory"]
            continue
        if harm != "cut":
            continue
        end = time.monotonic() + 60  # the third time it is not, whatever was wrong with it
        while not any("It did not serve here" in line for line in phone.console):
            assert time.monotonic() < end, phone.console
            phone.page.wait_for_timeout(100)
        assert kept_names(phone, name) == ["failures"], harm
    # a new version tries again
    site.serve(built_next)
    phone.page.evaluate(UPDATE)
    until(phone, lambda s: s["waiting"])
    phone.page.evaluate("() => boreside.answers.apply()")
    until(phone, lambda s: not s["waiting"] and len([c for c in s["caches"] if c != "spare"]) == 1)
    phone.started()
    assert phone.remembered() != name
    phone.reload()
    assert phone.page.evaluate("boreside.from") == "memory"


@pytest.mark.parametrize("break_it", ["app.zip", "pyodide/pyodide.asm.wasm"])
def test_a_start_that_fails_says_so(first_phone: Phone, site: Site, built: Path, tmp_path: Path, break_it: str) -> None:
    phone = first_phone
    broken = tmp_path / "broken"
    shutil.copytree(built, broken)
    (broken / break_it).unlink()
    site.serve(broken)
    phone.page.goto(phone.url)
    end = time.monotonic() + 60
    while phone.stage() != "failed":
        assert time.monotonic() < end, phone.page.inner_text("#loading")
        time.sleep(0.1)
    words = phone.page.inner_text("#loading")
    assert "could not be started" in words and "Your jobs are untouched" in words
    assert phone.page.is_visible("#loading-again")
    site.serve(built)
    phone.page.click("#loading-again")
    phone.started()
