"""What every browser test gets: the app, built once, on a local server, in a real Chromium."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path
from typing import Any

import pytest
from filelock import FileLock

from mobile.build import build, sources

from .driver import MEMORY, roomy, why_not
from .harness import Phone, Site

ROOT = Path(__file__).parents[2]


#: The files that take longest: they are begun first, so that no worker is left with one of them at the end. The other
#: engines come before all: they are slow where two other browsers work.
LONG = ("test_engines.py", "test_whole_job.py", "test_walk.py", "test_faults.py", "test_devices.py", "test_memory.py")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The longest files first; where no browser can be driven its tests are skipped, with the reason."""
    here = [item for item in items if item.path.parent == Path(__file__).parent]
    others = [item for item in items if item.path.parent != Path(__file__).parent]
    here.sort(key=lambda item: LONG.index(item.path.name) if item.path.name in LONG else len(LONG))
    items[:] = [*others, *here]
    why = why_not() if here else None
    for item in here:
        item.add_marker(pytest.mark.browser)
        if why:
            item.add_marker(pytest.mark.skip(reason=why))


@pytest.fixture(scope="session")
def room(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable[[str], Path]]:
    """Makes a new folder for a browser's profile: ``room("phone")``."""
    base = Path(tempfile.mkdtemp(prefix="boreside-", dir=MEMORY)) if roomy() else tmp_path_factory.mktemp("profiles")
    number = count()

    def make(name: str) -> Path:
        folder = base / f"{name}{next(number)}"
        folder.mkdir()
        return folder

    yield make
    shutil.rmtree(base, ignore_errors=True)


@pytest.fixture(scope="session")
def built(one_build: FileLock) -> Path:
    """The offline web folder of the code as it is now. Unchanged code is not built again, whichever worker asks."""
    with one_build:
        return build(ROOT / "build" / "test-web", cache=ROOT / "build" / "cache", compress=False).folder


@pytest.fixture(scope="session")
def built_next(built: Path, one_build: FileLock) -> Path:
    """The same app one version later."""
    app = {**sources(), "mobile/next.txt": b"a later build"}
    folder = ROOT / "build" / "test-web-next"
    with one_build:
        return build(folder, cache=ROOT / "build" / "cache", app=app, compress=False).folder


@pytest.fixture(scope="session")
def playwright_now() -> Iterator[object]:
    from playwright.sync_api import sync_playwright  # noqa: PLC0415  it need not be there where these are skipped

    with sync_playwright() as playwright:
        yield playwright


@pytest.fixture(scope="session")
def address(built: Path) -> Iterator[Site]:
    """The app on a local server of this worker's own. Its port stays, for what a browser keeps is kept by address."""
    site = Site(built)
    yield site
    site.stop()


@pytest.fixture(scope="session")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A folder that the workers of this run have in common. The last that leaves it removes it."""
    run = os.environ.get("PYTEST_XDIST_TESTRUNUID") or str(os.getpid())
    folder = (MEMORY if roomy() else Path(tempfile.gettempdir())) / f"boreside-{run}"
    folder.mkdir(exist_ok=True)
    here = folder / f"{os.getpid()}.here"
    here.touch()
    yield folder
    here.unlink()
    if not list(folder.glob("*.here")):
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def warm(playwright_now: object, address: Site, shared: Path) -> Path:
    """The profile of a phone that keeps the app and its started memory, and no job or setting: made once, to be copied."""
    profile = shared / "warm"
    with FileLock(shared / "warm.lock"):
        if not profile.exists():
            phone = Phone(playwright_now, address, shared / "warming", quick=True, whole=False)
            phone.open()
            phone.offline_kept()
            phone.remembered()
            phone.page.goto("about:blank")
            phone.clear()
            phone.close()
            phone.profile.rename(profile)
    return profile


def copied(profile: Path, to: Path) -> Path:
    """A copy of a profile that no browser uses."""
    return shutil.copytree(profile, to, symlinks=True, ignore=shutil.ignore_patterns("Singleton*"))


@pytest.fixture
def site(address: Site, built: Path) -> Iterator[Site]:
    """The app on its local server, as built, whatever a test does to it. Each phone has a profile, hence a storage, of its own."""
    yield address
    address.serve(built)
    address.start()


@pytest.fixture
def new_phone(playwright_now: object, site: Site, room: Callable[[str], Path]) -> Iterator[Callable[..., Phone]]:
    """Make a phone: ``new_phone(width=360, height=640, dark=True)``. It has a fresh profile, or the one at ``profile``."""
    made: list[Phone] = []

    def make(profile: Path | None = None, **options: object) -> Phone:
        phone = Phone(
            playwright_now, site, profile or room("phone") / "phone", **{"quick": True, "whole": False, **options}
        )
        made.append(phone)
        return phone

    yield make
    for phone in made:
        phone.close()
        shutil.rmtree(phone.profile, ignore_errors=True)


@pytest.fixture
def first_phone(new_phone: Callable[..., Phone]) -> Phone:
    """One phone, 390 by 844, light, that never had the app: for what happens at a first visit."""
    return new_phone()


@pytest.fixture
def phone(new_phone: Callable[..., Phone], warm: Path, room: Callable[[str], Path]) -> Phone:
    """One phone, 390 by 844, light, that keeps the app and was never worked with. Not yet opened."""
    return new_phone(copied(warm, room("phone") / "phone"))


@pytest.fixture(scope="module")
def looks() -> dict[str, Any]:
    """What this file's :func:`kept_phone` is besides quick. A file that looks at what is drawn says otherwise."""
    return {"whole": False}


@pytest.fixture(scope="module")
def kept_phone(
    playwright_now: object, address: Site, warm: Path, room: Callable[[str], Path], looks: dict[str, Any]
) -> Iterator[Phone]:
    """One started phone for a whole file of tests: use it where starting afresh is not the point."""
    phone = Phone(playwright_now, address, copied(warm, room("kept") / "phone"), quick=True, **looks)
    phone.open()
    yield phone
    phone.close()
    shutil.rmtree(phone.profile, ignore_errors=True)


@pytest.fixture
def private(request: pytest.FixtureRequest) -> Iterator[None]:
    """After a test: no request of the phones that its file names in ``PRIVATE`` went anywhere but to the app's own address, and no script failed."""
    phones = [request.getfixturevalue(name) for name in request.module.PRIVATE if name in request.fixturenames]
    yield
    for phone in phones:
        phone.assert_private()
        assert phone.requests and phone.errors == []
