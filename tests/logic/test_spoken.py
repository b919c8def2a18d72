"""Numbers read back aloud. How the trade says them is common practice, no source; number words are from memory."""

from __future__ import annotations

import pytest

from logic.spoken import number_words, spoken


@pytest.mark.parametrize(
    ("text", "unit", "signed", "english", "german"),
    [
        ("3.0145", "in", False, "three oh one four five", "drei Komma null eins vier fünf Zoll"),
        ("3.0300", "in", False, "three oh three oh oh", "drei Komma null drei null null Zoll"),
        ("12.5", "in", False, "twelve five", "zwölf Komma fünf Zoll"),
        (".0145", "in", False, "point oh one four five", "null Komma null eins vier fünf Zoll"),
        ("3", "in", False, "three inches", "drei Zoll"),
        ("1.0", "in", False, "one inch", "ein Zoll"),
        ("3 1/32", "in", False, "three and one thirty-second", "drei und ein Zweiunddreißigstel Zoll"),
        ("5/8", "in", False, "five eighths", "fünf Achtel Zoll"),
        ("14.5", "thou", True, "plus fourteen and a half thou", "plus vierzehneinhalb Tausendstel"),
        ("+14.50", "thou", True, "plus fourteen and a half thou", "plus vierzehneinhalb Tausendstel"),
        ("-2", "thou", True, "minus two thou", "minus zwei Tausendstel"),
        ("\u22122", "thou", True, "minus two thou", "minus zwei Tausendstel"),
        ("0.5", "thou", True, "plus half a thou", "plus ein halbes Tausendstel"),
        ("1.25", "thou", False, "one and a quarter thou", "eineinviertel Tausendstel"),
        ("0.25", "thou", False, "a quarter of a thou", "ein viertel Tausendstel"),
        ("0.75", "thou", False, "three quarters of a thou", "drei viertel Tausendstel"),
        ("14.3", "thou", True, "plus fourteen point three thou", "plus vierzehn Komma drei Tausendstel"),
        ("0", "thou", True, "zero thou", "null Tausendstel"),
        ("-0.0", "thou", True, "zero thou", "null Tausendstel"),
        ("1", "thou", True, "plus one thou", "plus ein Tausendstel"),
        ("76,568", "mm", False, "seventy-six point five six eight millimetres", "sechsundsiebzig Komma fünf sechs acht Millimeter"),
        ("0.229", "mm", True, "plus point two two nine millimetres", "plus null Komma zwei zwei neun Millimeter"),
        ("76.0", "mm", False, "seventy-six millimetres", "sechsundsiebzig Millimeter"),
        ("76.568 mm", "mm", False, "seventy-six point five six eight millimetres", "sechsundsiebzig Komma fünf sechs acht Millimeter"),
        ("21", "degC", False, "twenty-one degrees", "einundzwanzig Grad"),
        ("1", "div", False, "one division", "ein Teilstrich"),
        ("7.5", "div", True, "plus seven and a half divisions", "plus siebeneinhalb Teilstriche"),
        ("1450", "rev/min", False, "one thousand four hundred and fifty turns a minute", "tausendvierhundertfünfzig Umdrehungen je Minute"),
        ("40", "ft*lbf", False, "forty foot pounds", "vierzig Fußpfund"),
        ("2", "1", False, "two", "zwei"),
    ],
)  # fmt: skip
def test_a_number_is_said_as_at_the_bench(text: str, unit: str, signed: bool, english: str, german: str) -> None:
    assert spoken(text, unit, "en", signed=signed) == english
    assert spoken(text, unit, "de", signed=signed) == german


@pytest.mark.parametrize("text", ["", "abc", "1.2.3", "9999999999999", "1/7", "3 1/3", "2e3"])
def test_what_cannot_be_read_is_said_as_it_stands(text: str) -> None:
    said = spoken(text, "in", "en")
    assert said.startswith(text) if text else said == ""


def test_whole_numbers() -> None:
    english = {0: "zero", 13: "thirteen", 40: "forty", 99: "ninety-nine", 101: "one hundred and one", 1001: "one thousand and one", 12345: "twelve thousand three hundred and forty-five", 999_999: "nine hundred and ninety-nine thousand nine hundred and ninety-nine"}  # fmt: skip
    german = {0: "null", 1: "eins", 16: "sechzehn", 21: "einundzwanzig", 100: "hundert", 101: "hunderteins", 200: "zweihundert", 1000: "tausend", 1001: "tausendeins", 21_000: "einundzwanzigtausend", 101_031: "hunderteintausendeinunddreißig"}  # fmt: skip
    assert {n: number_words(n) for n in english} == english
    assert {n: number_words(n, "de") for n in german} == german
    assert number_words(1_000_000) == "1000000"
    assert number_words(5, "xx") == "five"
    for language in ("en", "de"):  # no two numbers sound the same
        assert len({number_words(n, language) for n in range(5000)}) == 5000
