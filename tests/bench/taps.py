"""What a whole job takes in taps and keys, by stage: ``python -m tests.bench.taps [--json]``.

The walk is that of ``tests/mobile/test_taps.py``: three cylinders, with bar, hone, bore gauge and
micrometer only, on the stub phone. Keys that are readings are counted apart.
"""

from __future__ import annotations

import argparse
import json

from tests.mobile.stub import drive
from tests.mobile.test_taps import Counted, whole_job

KINDS = ("taps", "keys", "readings")


def counted() -> dict[str, dict[str, int]]:
    """Taps, keys and keys of readings by stage, in the order of the work."""
    found: list[Counted] = []

    async def walk() -> None:
        found.append((await whole_job())[0])

    drive(walk)
    counts = found[0].counts
    stages = dict.fromkeys(stage for stage, _ in counts)
    return {stage: {kind: counts[stage, kind] for kind in KINDS} for stage in stages}


def main() -> None:
    parser = argparse.ArgumentParser(description="Taps and keys of a whole job, by stage.")
    parser.add_argument("--json", action="store_true")
    found = counted()
    if parser.parse_args().json:
        print(json.dumps(found, indent=1))
        return
    print(f"{'stage':<24}{'taps':>6}{'keys':>6}{'readings':>10}")
    for stage, row in found.items():
        print(f"{stage:<24}{row['taps']:>6}{row['keys']:>6}{row['readings']:>10}")
    sums = {kind: sum(row[kind] for row in found.values()) for kind in KINDS}
    print(f"{'all':<24}{sums['taps']:>6}{sums['keys']:>6}{sums['readings']:>10}")


if __name__ == "__main__":
    main()
