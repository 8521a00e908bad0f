"""Coverage-guided fuzzing of one door; needs the extra `fuzz`.

python -m tests.hostile.fuzz_target svg|notes|record|length|rule [options of the fuzzer, -max_total_time=3600]
"""

from __future__ import annotations

import sys

import atheris

with atheris.instrument_imports(include=["tiling"]):
    from tests.hostile.trials import TRIALS


def main() -> None:
    """Fuzz the door named first on the command line."""
    name = sys.argv.pop(1)
    atheris.Setup(sys.argv, TRIALS[name])
    atheris.Fuzz()


if __name__ == "__main__":
    main()
