"""What the build puts into the folder, and what it leaves out."""

from __future__ import annotations

import ast
import gettext
import hashlib
import io
import json
import re
import struct
import tomllib
import zipfile
import zlib
from pathlib import Path

import pytest
from filelock import FileLock
from fontTools.ttLib import TTFont

from logic.unit_table import UNITS
from mobile import build as b
from mobile.glyphs import SIGNS
from mobile.icon import icon, png
from mobile.routes import found

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def built(one_build: FileLock) -> b.Built:
    with one_build:
        return b.build(ROOT / "build" / "test-web", cache=ROOT / "build" / "cache", compress=False)


@pytest.fixture(scope="module")
def archive(built: b.Built) -> zipfile.ZipFile:
    return zipfile.ZipFile(built.folder / "app.zip")


def listing(folder: Path) -> dict:
    return json.loads(re.search(r"const FILES = (\{.*?\n\});", (folder / "sw.js").read_text(), re.DOTALL).group(1))


def test_every_file_is_listed_with_its_digest_and_size(built: b.Built) -> None:
    listed = listing(built.folder)
    there = {p.relative_to(built.folder).as_posix() for p in built.folder.rglob("*") if p.is_file()}
    assert there - set(listed) == {"sw.js", "build.json", *b.SHOTS}  # the pictures are fetched for no start
    for path, row in listed.items():
        body = (built.folder / path).read_bytes()
        assert (row["hash"], row["size"]) == (hashlib.sha256(body).hexdigest(), len(body)), path
        assert row["type"] == b.mime(path)


def test_the_same_code_gives_the_same_version_and_is_not_built_again(built: b.Built, one_build: FileLock) -> None:
    with one_build:
        again = b.build(built.folder, cache=ROOT / "build" / "cache", compress=False)
    assert not again.fresh and (again.version, again.built) == (built.version, built.built)


def test_one_changed_file_gives_another_version(built: b.Built, one_build: FileLock, tmp_path: Path) -> None:
    app = {**b.sources(), "mobile/more.txt": b"x"}
    with one_build:
        other = b.build(tmp_path / "web", cache=ROOT / "build" / "cache", app=app, compress=False)
    assert other.version != built.version
    before, after = listing(built.folder), listing(other.folder)
    assert {path for path in after if after[path] != before.get(path)} == {
        "app.zip",
        "worker.js",
    }  # the worker knows the archive's digest


def test_archive_has_the_app_and_no_dead_weight(archive: zipfile.ZipFile) -> None:
    names = archive.namelist()
    tops = {n.split("/")[1] for n in names if n.startswith("__pypackages__/")}
    assert {"flet", "msgpack", "pint", "pydantic", "pydantic_core", "tinydb"} <= tops
    assert not tops & {"httpx", "oauthlib", "anyio", "certifi", "httpcore", "h11", "idna", "rich", "pygments"}
    assert {n.split("/")[0] for n in names if not n.startswith("__pypackages__/")} == {
        "main.pyc",
        "logic",
        "store",
        "mobile",
        "demo",
    }
    bad = [
        n
        for n in names
        if re.search(r"\.pyi$|/tests?/|testsuite|__pycache__|dist-info|^mobile/(server|build|command|start|web)", n)
    ]
    assert bad == []
    # bytecode of the browser's Python, without source
    assert not [n for n in names if n.endswith(".py")]
    assert all(z.compress_type == zipfile.ZIP_STORED for z in archive.infolist())


def test_no_machine_path_gets_into_what_is_shipped(built: b.Built, archive: zipfile.ZipFile) -> None:
    here = str(ROOT).encode()
    assert [n for n in archive.namelist() if here in archive.read(n)] == []
    for name in ("index.html", "boot.js", "start.js", "worker.js", "sw.js"):
        assert here not in (built.folder / name).read_bytes()


def test_no_script_names_a_place_to_load_from_elsewhere(built: b.Built) -> None:
    for name in ("index.html", "boot.js", "start.js", "worker.js", "sw.js", "boot.css"):
        found = re.findall(r"https?://[^\s\"']+", (built.folder / name).read_text())
        assert found == [], name
    code = (built.folder / "main.dart.js").read_text("utf-8")
    for there in b.ELSEWHERE:
        assert there not in code


def test_page_has_our_own_name_and_no_inline_script(built: b.Built) -> None:
    page = (built.folder / "index.html").read_text()
    assert "<title>Boreside</title>" in page and "Flet" not in page
    assert not re.search(r"<script(?![^>]*src=)", page) and not re.search(r"\son\w+=", page) and "style=" not in page
    manifest = json.loads((built.folder / "manifest.webmanifest").read_text())
    assert (manifest["start_url"], manifest["scope"], manifest["id"], manifest["display"]) == (
        "./",
        "./",
        "./",
        "standalone",
    )
    assert [(s["name"], s["url"]) for s in manifest["shortcuts"]] == [
        ("Quick check", "./#/quick"),
        ("Last job", "./#/last"),
    ]
    assert found(manifest["shortcuts"][0]["url"].split("#")[1]) == ("home:Home", {"aim": "quick"})
    (handler,) = manifest["file_handlers"]
    assert (
        handler["accept"] == {"application/json": [".json"]}
        and found(handler["action"].split("#")[1])[0] == "files:Files"
    )
    # no badge on the icon: nothing waits there to be looked at
    own = [*(Path(b.__file__).parent / "web").glob("*.js"), *Path(b.__file__).parent.glob("*.py")]
    assert own and not [p.name for p in own if re.search(r"(set|clear)(App|Client)Badge", p.read_text("utf-8"))]
    forms = [row["form_factor"] for row in manifest["screenshots"]]
    assert set(forms) == {"narrow", "wide"} and all(row["label"] for row in manifest["screenshots"])
    for row in manifest["screenshots"]:
        width, height = map(int, row["sizes"].split("x"))
        # what Chromium's install dialogue takes: 320 to 3840 px, no longer than 2.3 times its width
        assert min(width, height) >= 320 and max(width, height) <= min(3840, 2.3 * min(width, height))
    for row in (*manifest["icons"], *manifest["screenshots"]):
        body = (built.folder / row["src"]).read_bytes()
        assert "x".join(map(str, struct.unpack(">II", body[16:24]))) == row["sizes"]


def pixels(body: bytes) -> tuple[int, list[list[tuple[int, ...]]]]:
    """A PNG of ours, read by the W3C specification: chunks with their CRC, filter 0 rows."""
    assert body[:8] == b"\x89PNG\r\n\x1a\n"
    at, data, size = 8, b"", 0
    while at < len(body):
        length, name = struct.unpack(">I4s", body[at : at + 8])
        chunk = body[at + 8 : at + 8 + length]
        assert struct.unpack(">I", body[at + 8 + length : at + 12 + length])[0] == zlib.crc32(name + chunk)
        if name == b"IHDR":
            size = struct.unpack(">I", chunk[:4])[0]
        data += chunk if name == b"IDAT" else b""
        at += 12 + length
    raw = zlib.decompress(data)
    rows = []
    for y in range(size):
        row = raw[y * (3 * size + 1) : (y + 1) * (3 * size + 1)]
        assert row[0] == 0
        rows.append([tuple(row[1 + 3 * x : 4 + 3 * x]) for x in range(size)])
    return size, rows


def test_maskable_icon_keeps_inside_the_safe_circle() -> None:
    # W3C Web App Manifest: the safe zone of a maskable icon is a circle of 40 % of its width about the middle
    size, rows = pixels(icon(96, maskable=True))
    ground = rows[0][0]
    middle = (size - 1) / 2
    drawn = [(x, y) for y in range(size) for x in range(size) if rows[y][x] != ground]
    assert drawn and max(((x - middle) ** 2 + (y - middle) ** 2) ** 0.5 for x, y in drawn) <= 0.4 * size


def test_png_wants_every_pixel() -> None:
    with pytest.raises(ValueError, match="3 bytes a pixel"):
        png(2, 2, b"\0" * 11)


def test_every_sign_the_app_writes_is_in_its_font(built: b.Built) -> None:
    """A sign that is missing would be drawn as an empty square, and asked for elsewhere again and again."""
    have = set(TTFont(io.BytesIO((built.folder / "assets/fonts/text.woff2").read_bytes())).getBestCmap())
    assert {ord(sign) for sign in SIGNS} <= have
    missing: dict[str, set[str]] = {}
    for package in ("logic", "store", "mobile", "demo"):
        for path in (ROOT / package).rglob("*.py"):
            if path.name in b.SHOP_ONLY or path.relative_to(ROOT).as_posix() in ("logic/numerals.py", "store/table.py"):
                continue  # not in the browser, or lists what people may type
            for node in ast.walk(ast.parse(path.read_text("utf-8"))):
                if isinstance(node, ast.Constant) and isinstance(node.value, str):
                    lack = {c for c in node.value if ord(c) > 126 and ord(c) not in have}
                    if lack:
                        missing.setdefault(path.relative_to(ROOT).as_posix(), set()).update(lack)
    assert missing == {}, missing
    assert {c for unit in UNITS.values() for c in unit.label if ord(c) not in have} == set()


def test_every_icon_the_app_names_is_in_its_font(built: b.Built) -> None:
    body = (built.folder / "assets/fonts/MaterialIcons-Regular.otf").read_bytes()
    assert len(body) < 100_000, "cut down to what is used"
    glyphs = set(TTFont(io.BytesIO(body)).getGlyphOrder())
    named = set()
    for path in (p for p in (ROOT / "mobile").rglob("*.py") if p.name not in b.SHOP_ONLY):
        named |= set(re.findall(r"\bIcons\.([A-Z][A-Z0-9_]*)", path.read_text("utf-8")))
    assert named
    assert {n for n in named if not {n.lower(), n.lower() + "_baseline"} & glyphs} == set()


def test_bad_place_is_refused_in_a_sentence(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(b.importlib.util, "find_spec", lambda name: None)
    with pytest.raises(b.BuildError, match="flet-web is not installed"):
        b.build(tmp_path / "web", cache=tmp_path / "cache")


def test_every_package_is_installed() -> None:
    listed = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["setuptools"]["packages"]
    there = {
        p.parent.relative_to(ROOT).as_posix().replace("/", ".")
        for top in b.PACKAGES
        for p in (ROOT / top).rglob("__init__.py")
    }
    assert set(listed) == there and len(listed) == len(there)


def test_the_archive_holds_compiled_catalogues_and_the_reader_goes_along(
    archive: zipfile.ZipFile, built: b.Built
) -> None:
    there = set(archive.namelist())
    assert "logic/words/de.mo" in there
    assert not [path for path in there if path.endswith(".po") or path.startswith("logic/words/po.")]
    table = gettext.GNUTranslations(io.BytesIO(archive.read("logic/words/de.mo")))
    assert table.gettext("Bored size") == "Bohrmaß"
    library = set(zipfile.ZipFile(built.folder / "pyodide/python_stdlib.zip").namelist())
    assert {"gettext", "pkgutil", "struct"} <= {path.split(".")[0] for path in library}
