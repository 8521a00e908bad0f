"""What a person reads beyond the README, a Markdown file a topic."""

from __future__ import annotations

from importlib.resources import files

__all__ = ["TOPICS", "chapter"]

TOPICS = {
    "drawings": "What is read of a drawing, the roles of its lines, and the notes beside it.",
    "printing": "Papers, printing, taping, fewer pages, and checking the printer by photo or ruler.",
    "altering": "Wider, narrower, longer, shorter; and printing again only what changed.",
    "cloth": "Cutting list, lay plan, notions and the sewing guide.",
    "workroom": "The whole job on a page in the browser, the phone as its camera, and what is sent where (nothing).",
    "programs": "The keys of --json, the exit codes, and calling the jobs from Python.",
    "measured": "How well it measures, what it costs, and how to get the figures again.",
}
"""The chapters in reading order, and what each is about."""


def chapter(topic: str) -> str:
    """The text of a chapter in Markdown.

    Raises:
        KeyError: there is no such topic.
    """
    if topic not in TOPICS:
        raise KeyError(topic)
    return files(__package__).joinpath(f"{topic}.md").read_text(encoding="utf-8")
