"""The packing library in a process of its own: started by `tiling.planning.packing`, never imported.

The library can't be stopped once it searches, and keeps an interrupt to itself; a process can be ended at any time,
from any thread. One line of JSON comes in on stdin, one goes out on stdout. When whoever started it is gone, stdin
ends, and with it the search.
"""

from __future__ import annotations

import json
import os
import signal
import sys
import threading
from typing import Any


def main() -> None:
    """Solve the problem on stdin; what went wrong in the library goes out as ``fault``."""
    # Ctrl-C at a terminal reaches this process too, but who started it decides.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    problem = json.loads(sys.stdin.buffer.readline())
    threading.Thread(target=_end_with_starter, daemon=True).start()
    try:
        answer: dict[str, Any] = {"placed": _placed(problem)}
    except BaseException as fault:  # noqa: BLE001 - a panic in the library is no Exception
        answer = {"fault": f"{type(fault).__name__}: {fault}"}
    sys.stdout.write(json.dumps(answer))
    sys.stdout.flush()
    os._exit(0)


def _placed(problem: dict[str, Any]) -> list[tuple[int, float, tuple[float, float]]]:
    """Number, turn in degrees and shift of every copy."""
    sys.path[:] = problem["path"]
    import spyrrow  # noqa: PLC0415 - found where the starter finds it

    items = [
        spyrrow.Item(str(number), [tuple(corner) for corner in item["outline"]], item["count"], item["turns"])
        for number, item in enumerate(problem["items"])
    ]
    config = spyrrow.StripPackingConfig(total_computation_time=None, **problem["config"])
    solution = spyrrow.StripPackingInstance("strip", problem["height"], items).solve(config)
    return [(int(item.id), item.rotation, item.translation) for item in solution.placed_items]


def _end_with_starter() -> None:
    while os.read(0, 1):
        pass
    os._exit(1)


if __name__ == "__main__":
    main()
