"""Where the process begins: signals are heeded before anything else is loaded."""

from __future__ import annotations

from tiling.commands.signals import end_at_once

__all__ = ["main"]


def main() -> None:
    """What the console script calls."""
    end_at_once()
    from tiling.commands.main import main as run_to_its_end

    run_to_its_end()


if __name__ == "__main__":
    main()
