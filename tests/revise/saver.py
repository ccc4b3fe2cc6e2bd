"""A process that saves versions and writes routines until it is killed; says what it has kept, line by line.

Usage: ``python saver.py FOLDER``. Every line ``kept N DIGEST`` is printed only after version N is on the disk.
"""

from __future__ import annotations

import hashlib
import json
import sys
from pathlib import Path

from composer.revise.asks import Ask
from composer.textfiles import json_text, write_text
from composer.versions import Version, load_versions, save_version


def record(number: int) -> dict[str, object]:
    """A record as large as a real one, different for every number."""
    figures = [{"figure": f"test/figure-{number}-{i}", "start_tick": 12 * i} for i in range(200)]
    return {"format": "routine/1", "title": f"routine {number}", "figures": figures}


def digest(data: object) -> str:
    return hashlib.sha256(json.dumps(data, sort_keys=True).encode()).hexdigest()[:12]


def main() -> None:
    home = Path(sys.argv[1])
    versions, _ = load_versions(home)
    number = max((v.number for v in versions), default=0)
    while True:
        routine = record(number + 1)
        version = Version(0, number or None, "a step", (Ask("forbid", "test/a"),), ((1, 8),), {"title": "x"}, "b.yaml",
                          routine)  # fmt: skip
        number = save_version(home, version).number
        print(f"kept {number} {digest(routine)}", flush=True)
        write_text(home / "routine.json", json_text(routine))


if __name__ == "__main__":
    main()
