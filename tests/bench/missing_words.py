"""List the sentences a language lacks: ``python -m tests.bench.missing_words [code]``. Exits with 1 if any do."""

import sys

from logic import words
from tests.lines import templates


def main(codes: list[str]) -> int:
    found = 0
    for code in codes or [c for c in words.LANGUAGES if c != "en"]:
        table = words.catalogue(code)
        for text, where in templates().items():
            if text not in table:
                found += 1
                print(f"{code}\t{where}\t{text}")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
