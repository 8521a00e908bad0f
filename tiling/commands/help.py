"""`pageseam help`: the manual at the terminal."""

from __future__ import annotations

import click

from calibrate.spelling import closest_word
from tiling.commands.console import Console
from tiling.failures import UsageWrong
from tiling.manual import TOPICS, chapter

__all__ = ["command"]


@click.command("help", short_help="Show a chapter of the manual; without a topic, list them.")
@click.argument("topic", required=False)
def command(topic: str | None) -> None:
    """Show a chapter of the manual; without a topic, list them."""
    console = Console()
    if topic is None:
        width = max(map(len, TOPICS))
        console.answer("\n".join(f"pageseam help {name:<{width}}  {about}" for name, about in TOPICS.items()))
        return
    if topic not in TOPICS:
        near = closest_word(topic, TOPICS)
        hint = f"did you mean {near}?" if near else f"there are {', '.join(TOPICS)}."
        raise UsageWrong(f"the manual has no chapter '{topic}'; {hint}")
    console.answer(_for_reading(chapter(topic)))


def _for_reading(text: str) -> str:
    """The chapter without its pictures, which a terminal can't show."""
    paragraphs = text.rstrip().split("\n\n")
    return "\n\n".join(paragraph for paragraph in paragraphs if not paragraph.lstrip().startswith("!["))
