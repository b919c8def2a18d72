"""The command: what it prints, its exit codes, and that bad input gets a sentence and no traceback."""

from __future__ import annotations

import asyncio
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

import demo as demo_data
from logic.units import Entered
from mobile import start
from mobile.command import main, parser
from store import draft
from store.documents import Reading
from store.form import canonical, checksum
from store.jobs import Jobs
from store.memory import MemoryBackend
from store.sheets import NAMES

ROOT = Path(__file__).parents[2]


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    try:
        code = main(arguments)
    except SystemExit as stop:
        code = stop.code
    out, err = capsys.readouterr()
    return code, out, err


@pytest.fixture
def demo(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    path = tmp_path / "demo.json"
    assert run(capsys, "demo", "--out", str(path))[0] == 0
    return path


def test_quick_prints_what_is_needed(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "quick", "--nominal", "3.000 in", "--worst", "3.0145 in", "--json")
    data = json.loads(out)
    assert code == 0
    # 3.000 in = 76.2 mm and 3.0145 in = 76.5683 mm (1 in = 25.4 mm, NIST SP 811); one side takes twice the wear, 3.0290 in
    assert data["clean_up"]["low"]["value"] == pytest.approx(76.5683)
    assert data["clean_up"]["high"]["value"] == pytest.approx(3.029 * 25.4)
    assert data["finished"]["value"] == pytest.approx(76.2 + data["step"]["value"])
    assert data["bored"]["value"] == pytest.approx(data["finished"]["value"] - 0.003 * 25.4)
    chances = [row["probability"] for row in data["probability"]]
    assert chances == sorted(chances) and len(chances) >= 5
    assert data["cautions"] and data["answer"] and data["assumptions"]


def test_quick_says_no(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "quick", "--nominal", "3.000 in", "--worst", "+150 thou")
    assert code == 1 and "No step" in out


@pytest.mark.parametrize("worst", ["76.5", "abc", "", "0", "1e99", "-"])
def test_quick_with_bad_input_says_why(capsys: pytest.CaptureFixture[str], worst: str) -> None:
    code, out, err = run(capsys, "quick", "--nominal", "3.000", f"--worst={worst}")
    assert (code, out) == (2, "") and err.startswith("boreside quick: --worst: ") and err.count("\n") == 1


def test_quick_with_metric_steps(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "quick", "--nominal", "86.0 mm", "--worst", "86.15", "--series", "metric", "--json")
    steps = [row["step_mm"] for row in json.loads(out)["probability"]]
    assert code == 0 and steps == [0.25, 0.5, 0.75, 1.0, 1.5]


@pytest.mark.parametrize("worst", ["+30 thou", "2.990 in"])
def test_quick_is_not_sure_of_sizes_that_hardly_belong_together(capsys: pytest.CaptureFixture[str], worst: str) -> None:
    code, out, _ = run(capsys, "quick", "--nominal", "3.000 in", f"--worst={worst}")
    assert code == 1 and ("Not yet: " in out or "Check" in out)


@pytest.mark.parametrize(("worst", "meant"), [("+0.35", "mm"), ("12", "thou"), ("+145", "tenths")])
def test_quick_asks_which_unit_was_meant(capsys: pytest.CaptureFixture[str], worst: str, meant: str) -> None:
    code, out, err = run(capsys, "quick", "--nominal", "3.000 in", f"--worst={worst}")
    assert (code, out) == (2, "") and meant in err and err.count("\n") == 1


@pytest.mark.parametrize(
    "given",
    [
        ("3.000 in", "-3.0145 in"),
        ("3.000 in", "0"),
        ("3.000 in", "nan"),
        ("3.000 in", "inf"),
        ("3.000 in", "-inf"),
        ("3.000 in", "three"),
        ("3.000 in", "1e400"),
        ("3.000 in", "9" * 61),
        ("3.000 in", "1/0"),
        ("3.000 in", "3.0.145"),
        ("3.000 in", "3.0145 kg"),
        ("3.000 in", "3.0145 °C"),
        ("3.000 in", "86.0 mm"),
        ("3.000 in", "2.500 in"),
        ("3.000 in", "3.0145 in", "--unworn="),
        ("3.000 in", "3.0145 in", "--unworn=2.5 in"),
        ("3.000 in", "3.0145 in", "--unworn=nan"),
        ("3.000 in", "3.0145 in", "--confidence=nan"),
        ("3.000 in", "3.0145 in", "--confidence=1"),
        ("3.000 in", "3.0145 in", "--confidence=-1"),
        ("0", "3.0145 in"),
        ("-3.000 in", "3.0145 in"),
        ("nan", "3.0145 in"),
        ("", "3.0145 in"),
        ("12 in", "3.0145 in"),
        ("0.5 mm", "0.6 mm"),
        ("76,2,0 mm", "76.5 mm"),
        ("\udcff", "3.0145 in"),
    ],
)
@pytest.mark.parametrize("language", ["en", "de"])
def test_quick_refuses_what_cannot_be_in_one_sentence(
    capsys: pytest.CaptureFixture[str], given: tuple[str, ...], language: str
) -> None:
    nominal, worst, *more = given
    code, out, err = run(
        capsys, "quick", f"--nominal={nominal}", f"--worst={worst}", *more, "--language", language, "--json"
    )
    assert (code, out) == (2, "") and err.startswith("boreside quick: ") and err.count("\n") == 1


@pytest.mark.parametrize("given", [("3.0145 in", "3.000 in"), ("3.000 in", "+0"), ("3.000 in", "+150 thou")])
def test_quick_is_clean_for_a_clean_answer_alone(capsys: pytest.CaptureFixture[str], given: tuple[str, str]) -> None:
    """The two sizes exchanged, no wear at all, more wear than a step: something to read, and never a plain yes to bore."""
    code, out, _ = run(capsys, "quick", f"--nominal={given[0]}", f"--worst={given[1]}", "--json")
    data = json.loads(out)
    assert code == (0 if data["verdict"] in ("go", "info") else 1)
    assert code == 1 or data["step"] is None or data["step"]["value"] == 0.0


@pytest.mark.parametrize("nominal", ["86.0 mm", "86mm", "86 millimetres", "8.6 cm", "86000 µm", "86,0 MM"])
def test_quick_goes_by_the_unit_of_the_nominal_bore(capsys: pytest.CaptureFixture[str], nominal: str) -> None:
    code, out, _ = run(capsys, "quick", f"--nominal={nominal}", "--worst=86.15")
    assert code == 0 and "\u202fmm" in out and "\u202fin" not in out


def test_a_metric_job_prints_millimetres_unless_told_otherwise(capsys: pytest.CaptureFixture[str]) -> None:
    _, metric, _ = run(capsys, "quick", "--nominal", "86.0 mm", "--worst", "86.15")
    _, inch, _ = run(capsys, "quick", "--nominal", "86.0 mm", "--worst", "86.15 mm", "--units", "in")
    assert "\u202fmm" in metric and "\u202fin" not in metric
    assert "\u202fin" in inch and "\u202fmm" not in inch


@pytest.mark.parametrize(
    ("worst", "asks"), [("3.0145 in", True), ("3.0005 in", False), ("+150 thou", False)], ids=["side", "hone", "none"]
)
def test_quick_asks_for_the_worn_side_while_it_decides(
    capsys: pytest.CaptureFixture[str], worst: str, asks: bool
) -> None:
    """14.5 thou of wear needs 14.5 thou where it is even and 29 where it is on one side: two different oversizes."""
    given = ("quick", "--nominal", "3.000 in", "--worst", worst)
    _, out, _ = run(capsys, *given)
    assert ("--wear" in out) == asks
    _, data, _ = run(capsys, *given, "--json")
    assert bool(json.loads(data)["asks"]) == asks
    for side in ("even", "one side"):
        _, out, _ = run(capsys, *given, "--wear", side)
        assert "--wear" not in out


def test_work_asks_for_the_worn_side_and_takes_it(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """A job in millimetres, read and not decided: 0.2 mm on one side needs 0.4 mm and more, worn evenly 0.2 mm."""
    path = tmp_path / "job.json"

    async def make() -> None:
        jobs = await Jobs.open(MemoryBackend())
        job = await jobs.create("job")
        got = Entered("84 mm", "mm", 84.0, "mm")
        await jobs.set_header(job.id, nominal=draft.typed(got), cylinders=1)
        await jobs.append(
            job.id,
            draft.reading("bore.division", {}, Entered("1 um", "um", 0.001, "mm")),
            *(
                draft.reading("bore.reading", at, Entered(f"{mm:+.3f} mm", "mm", mm, "mm"))
                for d, wear in ((1, 0.2), (2, 0.08), (3, 0.004))
                for axis, mm in (("thrust", wear), ("crank", 0.6 * wear))
                for at in [{"cylinder": 1, "depth": d, "axis": axis}]
            ),
        )
        path.write_bytes(await jobs.export())

    asyncio.run(make())

    def said(*more: str) -> tuple[Any, Any]:
        code, out, _ = run(capsys, "work", str(path), *more)
        data = json.loads(out)
        (oversize,) = [s for s in data["steps"] if s["step"] == "oversize"]
        assert code in (0, 1)
        return data, oversize["results"][0]["value"]["value"]

    data, _ = said()
    assert data["asks"] == ["Cylinder 1: which side wore? Say it with --wear, or enter it in the app."]
    (_, even), (_, one) = said("--wear", "even"), said("--wear", "one side")
    assert (
        even < one and even >= 0.25 and one >= 0.5
    )  # the least step that takes 0.2 mm, and 0.4 mm (ISO 6621 names neither)
    _, text, _ = run(capsys, "work", str(path), "--text")
    assert "--wear" in text and "\u202fmm" in text and "\u202fin" not in text


@pytest.mark.filterwarnings("ignore::store.errors.Broken")
def test_work_is_not_clean_where_a_step_breaks_off(
    capsys: pytest.CaptureFixture[str], demo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert run(capsys, "work", str(demo))[0] == 0

    def broken(_: Any) -> Any:
        raise ZeroDivisionError

    monkeypatch.setattr("store.sheets.rings.rings_of", broken)
    code, out, _ = run(capsys, "work", str(demo))
    (rings,) = [s for s in json.loads(out)["steps"] if s["step"] == "rings"]
    assert code == 1 and rings["blocked"] and not rings["results"]


#: For every option that takes a value: what no value of it can be.
ODD = {
    "--nominal": ("", " ", "nan", "inf", "-inf", "-3.000 in", "0", "1e400", "3..0", "abc", "3.0 kg", "1/0", "--"),
    "--worst": ("", "nan", "inf", "0", "1e400", "3.0.1", "86 mm", "3.0145 °C"),
    "--unworn": ("", "nan", "inf", "0", "2.5 in", "1e400"),
    "--wear": ("", "left", "EVEN", "0"),
    "--series": ("", "both", "mm"),
    "--confidence": ("", "nan", "inf", "-inf", "1", "1.5", "95", "0.2", "-0.95", "100%", "5%", "abc", "1e400"),
    "--units": ("", "cm", "IN", "thou"),
    "--temperature": ("", "K", "c"),
    "--language": ("", "xx", "EN"),
}


@pytest.mark.parametrize(("option", "value"), [(o, v) for o, values in ODD.items() for v in values])
def test_every_option_refuses_an_impossible_value_in_one_sentence(
    capsys: pytest.CaptureFixture[str], option: str, value: str
) -> None:
    given = {"--nominal": "3.000 in", "--worst": "3.0145 in", option: value}
    code, out, err = run(capsys, "quick", *(f"{o}={v}" for o, v in given.items()))
    assert (code, out) == (2, "") and err.startswith("boreside quick: ") and err.count("\n") == 1


@pytest.mark.parametrize("value", ["0.9", "0,9", "90%", "90 %", " 90,0% "])
def test_a_confidence_is_taken_in_every_form(capsys: pytest.CaptureFixture[str], value: str) -> None:
    given = ("quick", "--nominal", "3.000 in", "--worst", "3.0145 in", "--json")
    assert run(capsys, *given, "--confidence", value) == run(capsys, *given, "--confidence", "0.9")


@pytest.mark.parametrize(
    ("nominal", "worst"),
    [
        ("3.000 in", "76.5683 mm"),
        ("76.2 mm", "3.0145 in"),
        ("3,000 in", "3,0145 in"),
        ("3 in", "+14.5"),
        ("3 in", "+0.3683 mm"),
        ("7.62 cm", "76568.3 um"),
        ("3 in", "14.5 thou over"),
    ],
)
def test_quick_says_the_same_in_every_mix_of_units(
    capsys: pytest.CaptureFixture[str], nominal: str, worst: str
) -> None:
    """14.5 thou is 0.3683 mm (1 in = 25.4 mm, NIST SP 811)."""
    usual = run(capsys, "quick", "--nominal", "3.000 in", "--worst", "3.0145 in", "--units", "in", "--series", "inch")
    assert usual == run(
        capsys, "quick", f"--nominal={nominal}", f"--worst={worst}", "--units", "in", "--series", "inch"
    )


@pytest.mark.parametrize(
    "given",
    [
        ("serve", "--port", "99999"),
        ("serve", "--port", "-1"),
        ("serve", "--port", "nan"),
        ("serve", "--port", ""),
        ("watch", ".", "--every", "inf"),
        ("watch", ".", "--every", "nan"),
        ("watch", ".", "--every", "0"),
        ("watch", ".", "--every", "-5"),
        ("watch", ".", "--every", "abc"),
        ("demo", "--out", ""),
        ("demo", "--out", "."),
        ("work", ""),
        ("work", "."),
        ("work",),
        ("parts", "", "--units", "mm"),
        ("report", "", "--paper", "A4"),
        ("report", "x.json", "--paper", "A3"),
        ("merge", "--out", "x.json"),
        ("merge", "", "--out", ""),
        ("nothing",),
        (),
    ],
)
def test_every_verb_refuses_in_one_sentence(capsys: pytest.CaptureFixture[str], given: tuple[str, ...]) -> None:
    code, out, err = run(capsys, *given)
    assert (code, out) == (2, "") and err.startswith("boreside") and err.count("\n") == 1


@pytest.mark.parametrize("out", ["", "."])
def test_a_place_that_is_no_file_is_refused(capsys: pytest.CaptureFixture[str], demo: Path, out: str) -> None:
    for verb in ("report", "merge"):
        code, said, err = run(capsys, verb, str(demo), "--out", out)
        assert (code, said) == (2, "") and err.count("\n") == 1


def test_quick_in_german_and_millimetres(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "quick", "--nominal", "76,2", "--worst", "76,5683", "--units", "mm", "--language", "de")
    assert code == 0 and "Bohrung" in out and ",0" in out


def test_work_gives_every_step(capsys: pytest.CaptureFixture[str], demo: Path) -> None:
    code, out, _ = run(capsys, "work", str(demo))
    data = json.loads(out)
    assert code in (0, 1)
    assert {s["step"] for s in data["steps"]} == set(NAMES)
    figures = [f for s in data["steps"] for r in s["results"] for f in r["figures"]]
    assert len(figures) > 250 and all(f["help"] and f["source"] for f in figures)
    unsure = [r for s in data["steps"] for r in s["results"] if r["verdict"] in ("stop", "measure again")]
    assert code == (1 if unsure or data["dropped"] else 0)
    bores = next(s for s in data["steps"] if s["step"] == "bores")
    assert len([r for r in bores["results"] if r["key"].startswith("bore.")]) == 3
    code, text, _ = run(capsys, "work", str(demo), "--text")
    assert bores["results"][0]["line"] in text


def corrected(capsys: pytest.CaptureFixture[str], tmp_path: Path, value_mm: float) -> tuple[int, Any, str]:
    """What ``work`` says of the demo job, as data and as text, with one reading of a worn bore corrected."""
    path = tmp_path / "changed.json"

    async def make() -> None:
        jobs = await Jobs.open(MemoryBackend())
        await demo_data.load(jobs)
        (job,) = await jobs.list("job")
        old = next(e for e in (await jobs.load(job.id)).entries if isinstance(e, Reading) and e.what == "bore.reading")
        got = Entered(f"{value_mm:g} mm", "mm", value_mm, "mm")
        await jobs.append(job.id, draft.reading(old.what, old.at, got, replaces=old.id))
        path.write_bytes(await jobs.export())

    asyncio.run(make())
    code, out, _ = run(capsys, "work", str(path))
    _, text, _ = run(capsys, "work", str(path), "--text")
    return code, json.loads(out), text


def test_what_was_dropped_is_said_and_the_answer_is_not_clean(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    code, data, text = corrected(capsys, tmp_path, 40.0)
    assert code == 1 and len(data["dropped"]) == 1
    assert text.startswith("Not used: Bore reading") and data["dropped"][0] in text


def test_a_doubt_is_said_and_the_answer_is_not_clean(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    code, data, text = corrected(capsys, tmp_path, -0.22)
    (oversize,) = [s for s in data["steps"] if s["step"] == "oversize"]
    assert code == 1 and oversize["doubts"] and "Check again: " in text
    assert oversize["results"][0]["verdict"] == "measure again" and oversize["results"][0]["line"].startswith(
        "Not yet: "
    )
    assert all({"line", "settle", "about"} <= set(d) for d in oversize["doubts"])


def test_merging_a_file_with_itself_adds_nothing(
    capsys: pytest.CaptureFixture[str], demo: Path, tmp_path: Path
) -> None:
    whole = tmp_path / "whole.json"
    code, out, _ = run(capsys, "merge", str(demo), str(demo), "--out", str(whole), "--json")
    about = json.loads(out)
    assert (
        code == 0 and about["files"][0]["added"] > 100 and about["files"][1]["added"] == 0 and about["conflicts"] == []
    )
    assert run(capsys, "work", str(whole))[1] == run(capsys, "work", str(demo))[1]


def test_a_locked_file_needs_its_passphrase(capsys: pytest.CaptureFixture[str], demo: Path, tmp_path: Path) -> None:
    secret, locked = tmp_path / "secret", tmp_path / "locked.json"
    secret.write_text("swarf and cutting oil\n")
    assert run(capsys, "merge", str(demo), "--out", str(locked), "--seal", "--passphrase-file", str(secret))[0] == 0
    assert b"demojob" not in locked.read_bytes()
    code, _, err = run(capsys, "work", str(locked))
    assert code == 2 and "passphrase" in err
    assert run(capsys, "work", str(locked), "--passphrase-file", str(secret))[0] in (0, 1)


@pytest.mark.parametrize("words", [None, b"", b"\n", b"short\n", b"aaaaaaaaaaaa\n", "Größenwahn".encode("latin-1")])
def test_a_file_is_locked_with_a_real_passphrase_or_not_at_all(
    words: bytes | None, capsys: pytest.CaptureFixture[str], demo: Path, tmp_path: Path
) -> None:
    secret, locked = tmp_path / "secret", tmp_path / "locked.json"
    given = []
    if words is not None:
        secret.write_bytes(words)
        given = ["--passphrase-file", str(secret)]
    code, _, err = run(capsys, "merge", str(demo), "--out", str(locked), "--seal", *given)
    assert code == 2 and err.strip().endswith(".") and not locked.exists()


def test_the_passphrase_gets_a_word_on_its_strength(
    capsys: pytest.CaptureFixture[str], demo: Path, tmp_path: Path
) -> None:
    secret = tmp_path / "secret"
    for words, word in (("swarf12x", "weak"), ("swarf and oil", "fair"), ("swarf cutting lantern heron", "strong")):
        secret.write_text(words)
        given = ("--out", str(tmp_path / "locked.json"), "--seal", "--passphrase-file", str(secret))
        code, _, err = run(capsys, "merge", str(demo), *given)
        assert code == 0 and f"is {word}" in err


@pytest.mark.parametrize(
    "change",
    [
        {"iterations": float("inf")}, {"iterations": float("nan")}, {"iterations": True}, {"iterations": 10**400},
        {"salt": "\ud800"}, {"cipher": "\udfff"}, {"more": float("inf")}, {"more": "\ud800"}, {"nonce": None}, {"data": []},
    ],
)  # fmt: skip
def test_a_locked_file_of_nonsense_is_refused_in_a_sentence(
    change: dict[str, object], capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    whole = {"boreside": "sealed", "format": 1, "key": "PBKDF2-HMAC-SHA-256", "iterations": 1, "cipher": "AES-256-GCM"}
    whole.update(salt="AAAA", nonce="AAAAAAAAAAAAAAAA", data="AAAA")
    (tmp_path / "locked.json").write_text(json.dumps({**whole, **change}))
    (tmp_path / "secret").write_text("swarf and cutting oil")
    code, _, err = run(capsys, "work", str(tmp_path / "locked.json"), "--passphrase-file", str(tmp_path / "secret"))
    assert code == 2 and err.count("\n") == 1 and "Traceback" not in err


def test_control_characters_never_reach_the_terminal(
    capsys: pytest.CaptureFixture[str], demo: Path, tmp_path: Path
) -> None:
    nasty = "\x1b]0;owned\x07\x9b31m\u202eabc\x7f"
    data = json.loads(demo.read_text("utf-8"))
    part = next(p for p in data["documents"] if p["document"]["type"] == "job")
    part["document"]["header"]["title"]["value"] = nasty
    part["sha256"] = checksum(canonical(part["document"]))
    sums = [data["made"], data["device"], *(p["sha256"] for p in data["documents"])]
    data["sha256"] = checksum("".join(s + "\n" for s in sums))
    bad = tmp_path / "bad.json"
    bad.write_text(json.dumps(data))
    folder = tmp_path / "watched"
    folder.mkdir()
    (folder / f"{nasty.replace('/', '')}.json").write_text(json.dumps(data))
    (folder / f"{nasty.replace('/', '')} spoilt.json").write_text("no export")
    for arguments in (
        ("work", str(bad)), ("work", str(bad), "--text"), ("work", str(bad), "--job", nasty),
        ("merge", str(bad), "--out", str(tmp_path / "out.json")), ("merge", nasty, "--out", str(tmp_path / "out.json")),
        ("merge", str(bad), "--json", "--out", str(tmp_path / "out.json")), ("merge", str(bad), "--out", f"/dev/null/{nasty}"),
        ("report", str(bad), "--out", str(tmp_path / "r.html")), ("report", str(bad), "--out", f"/dev/null/{nasty}"),
        ("work", str(bad), "--job", nasty + "!"), ("work", str(bad), "--passphrase-file", nasty),
        ("quick", "--nominal", nasty, "--worst", "3.0"), ("quick", "--nominal", "3.0 in", "--worst", nasty),
        ("watch", str(folder), "--once", "--every", "0.01", "--data", str(tmp_path / "data")), ("watch", nasty, "--once"),
        ("watch", str(folder), "--answer", nasty), ("demo", "--out", f"/dev/null/{nasty}"), (nasty,), ("serve", "--dir", nasty),
    ):  # fmt: skip
        _, out, err = run(capsys, *arguments)
        assert not set(out + err) & set("\x1b\x07\x9b\x7f\u202e")
    out = run(capsys, "work", str(bad))[1]
    assert json.loads(out)["title"] == nasty, "and JSON still says what it was"


def test_report_as_web_page_and_as_pdf(capsys: pytest.CaptureFixture[str], demo: Path, tmp_path: Path) -> None:
    page, paper = tmp_path / "r.html", tmp_path / "r.pdf"
    assert run(capsys, "report", str(demo), "--out", str(page))[0] == 0
    assert page.read_text("utf-8").lstrip().lower().startswith("<!doctype html>")
    assert run(capsys, "report", str(demo), "--out", str(paper), "--short")[0] == 0
    assert paper.read_bytes().startswith(b"%PDF-")


def test_demo_goes_into_the_shops_jobs_once(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    first = json.loads(run(capsys, "demo", "--data", str(tmp_path / "jobs"), "--json")[1])
    again = json.loads(run(capsys, "demo", "--data", str(tmp_path / "jobs"), "--json")[1])
    assert first["added"] > 100 and again["added"] == 0


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b" \n",
        b"{}",
        b"[]",
        b"null",
        b"3.0145",
        b'"job"',
        b"NaN",
        b"\xff\xfe\x00",
        b"\x00" * 64,
        b'{"boreside": "export"',
        b'{"boreside": "export", "documents": 3}',
        b"[" * 100_000,
        b"9" * 5_000,
        b'{"a": ' * 5_000,
    ],
)
@pytest.mark.parametrize("verb", ["work", "merge", "report"])
def test_a_bad_file_gets_a_sentence(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, verb: str, content: bytes
) -> None:
    path, out = tmp_path / "bad.json", tmp_path / "out"
    path.write_bytes(content)
    code, said, err = run(capsys, verb, str(path), *(() if verb == "work" else ("--out", str(out))))
    assert code == 2 and said == "" and err.startswith(f"boreside {verb}: ") and "Traceback" not in err
    assert not out.exists()


def test_a_job_without_an_answer_is_not_clean(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "new.json"

    async def make() -> None:
        jobs = await Jobs.open(MemoryBackend())
        await jobs.create(title="New")
        path.write_bytes(await jobs.export())

    asyncio.run(make())
    code, out, err = run(capsys, "work", str(path), "--text")
    assert code == 1 and out and err == ""


def test_a_missing_file_and_an_unknown_job(capsys: pytest.CaptureFixture[str], demo: Path, tmp_path: Path) -> None:
    assert run(capsys, "work", str(tmp_path / "none.json"))[0] == 2
    code, _, err = run(capsys, "work", str(demo), "--job", "nosuchjob")
    assert code == 2 and "demojob" in err


def test_an_output_that_cannot_be_written_is_said(
    capsys: pytest.CaptureFixture[str], demo: Path, tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("x")
    code, _, err = run(capsys, "merge", str(demo), "--out", str(tmp_path / "file" / "out.json"))
    assert code == 2 and "cannot be written" in err


def test_serve_refuses_a_folder_without_an_app_and_half_a_certificate(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    code, _, err = run(capsys, "serve", "--no-build", "--folder", str(tmp_path))
    assert code == 2 and "boreside build" in err
    code, _, err = run(capsys, "serve", "--no-build", "--folder", str(tmp_path), "--cert", "x")
    assert code == 2 and "--key" in err


@pytest.mark.parametrize("verb", start.VERBS)
def test_every_command_explains_itself(capsys: pytest.CaptureFixture[str], verb: str) -> None:
    code, out, _ = run(capsys, verb, "--help")
    assert code == 0 and "--help" in out and len(out) > 200


def test_the_start_command_knows_every_verb() -> None:
    assert set(start.VERBS) == set(parser()._subparsers._group_actions[0].choices)


def test_json_is_offered_wherever_results_are_printed() -> None:
    verbs = parser()._subparsers._group_actions[0].choices
    assert {v for v, p in verbs.items() if "--json" in p.format_help()} == set(verbs) - {"serve"}


def test_runs_as_a_program_and_stands_a_closed_pipe(demo: Path) -> None:
    done = subprocess.run(
        f"{sys.executable} -m mobile.command work {demo} | head -c 10",
        shell=True,
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0 and "Traceback" not in done.stderr


# -- the person's own rates -------------------------------------------------------------------
RATES = """# mine
currency = "€"
per_hour = 60
per_bore = 20.5
travel = 35
margin = 10  # percent
"""


@pytest.mark.parametrize("named", [True, False])
def test_the_estimate_is_at_the_rates_of_a_file(
    capsys: pytest.CaptureFixture[str], demo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, named: bool
) -> None:
    """Named, or lying where the jobs are kept; 3 bores of the demo: 60 an hour, 20.5 a bore, 35 for the journey."""
    monkeypatch.setenv("BORESIDE_DATA", str(tmp_path / "jobs"))
    bare = json.loads(run(capsys, "parts", str(demo), "--json")[1])["estimate"]
    assert not any(f["key"] == "price" for f in bare["figures"])
    file = tmp_path / "mine.toml" if named else tmp_path / "jobs" / "rates.toml"
    file.parent.mkdir(exist_ok=True)
    file.write_text(RATES, "utf-8")
    asked = ("--rates", str(file)) if named else ()
    got = json.loads(run(capsys, "parts", str(demo), "--json", *asked)[1])["estimate"]
    hours = next(f["qty"]["value"] for f in bare["figures"] if f["key"] == "time") / 3600
    price = next(f["qty"]["value"] for f in got["figures"] if f["key"] == "price")
    assert price == pytest.approx(60 * hours + 3 * 20.5 + 35)
    assert got["line"].endswith("€ in all.")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("per_hour 60", "The rates cannot be read"),
        ("per_day = 60", "“per_day” is no rate. There are: per_hour, per_bore"),
        ("per_hour = -1", "per_hour cannot be -1"),
        ('per_hour = "sixty"', "per_hour cannot be sixty"),
        (None, "cannot be read"),
    ],
)
def test_rates_that_cannot_be_are_refused(
    capsys: pytest.CaptureFixture[str], demo: Path, tmp_path: Path, text: str | None, said: str
) -> None:
    file = tmp_path / "rates.toml"
    if text is not None:
        file.write_text(text, "utf-8")
    code, out, err = run(capsys, "parts", str(demo), "--estimate", "--rates", str(file))
    assert (code, out) == (2, "") and said in err and err.count("\n") == 1
