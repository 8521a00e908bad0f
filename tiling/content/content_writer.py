"""Writing chosen objects as a content stream: only the frames and operators they need, in the source's own words."""

from __future__ import annotations

from collections.abc import Sequence

from pypdf.generic import PdfObject

from tiling.content.operators import DEFAULTS, extended_name
from tiling.content.painting import CLOSING
from tiling.content.scene import ContentScene, Drawn
from tiling.content.state import INITIAL, Frame, Param, State, TextClip, text_needs
from tiling.content.text_run import TextRun

__all__ = ["ContentWriter"]


_DASH, _EXTENDED, _FONT = Param.DASH, Param.EXTENDED, Param.FONT
"""Looked up once: members of an enum are found slowly."""
_CLOSING = {plain: closing for closing, plain in CLOSING.items()}


class _Open:
    """A frame of the source that what is written has entered; it has a q once it has steps."""

    __slots__ = ("frame", "saved", "written")

    def __init__(self, frame: Frame) -> None:
        self.frame = frame
        self.written = 0
        self.saved: list[bytes] | None = None


class ContentWriter:
    """Collects content. Objects must come in the order of the source; the initial graphics state must hold before."""

    def __init__(self, scene: ContentScene) -> None:
        self._scene = scene
        self._out: list[bytes] = []
        self._open: list[_Open] = []
        self._level: dict[Frame, int] = {}
        self._state: list[bytes] = list(INITIAL)
        self._agreed: tuple[State, Sequence[Param]] | None = None
        self._text: TextRun | None = None

    def finish(self) -> bytes:
        """Close what is open and give the content."""
        while self._open:
            self._leave()
        self._end_text()
        return b"\n".join(self._out)

    def path(self, drawn: Drawn, pieces: Sequence[tuple[bytes | None, bytes]]) -> None:
        """A path: pairs of a d operator of its own (None: the state's) and construction operators."""
        self._enter(drawn.frame, drawn.steps)
        for dash, source in pieces:
            run = source.strip()
            if not run:
                continue
            self._agree(drawn.state, drawn.needs, dash)
            if drawn.closes and run.endswith(b" h"):
                self._out += (run[:-2], _CLOSING[drawn.paint])
            else:
                self._out += (run, drawn.paint)

    def other(self, drawn: Drawn) -> None:
        """Anything that is neither a path nor text."""
        self._enter(drawn.frame, drawn.steps)
        self._agree(drawn.state, drawn.needs, None)
        self._out.append(drawn.paint)

    def text(self, drawn: Drawn) -> None:
        """A run of text; neighbours of the source stay in one BT … ET."""
        run = drawn.text
        if run is None:
            return
        self._enter(drawn.frame, drawn.steps, text=True)
        last = self._text
        if last is None:
            self._out.append(b"BT")
        follows = last is not None and last.block == run.block and last.order + 1 == run.order
        self._out.append(run.move if follows and run.move else run.start)
        for state, show in run.parts:
            self._agree(state, text_needs(int(state[Param.RENDER].split()[0])), None)
            self._out.append(show)
        self._text = run

    def _end_text(self) -> None:
        if self._text is not None:
            self._out.append(b"ET")
            self._text = None

    def _enter(self, frame: Frame, steps: int, *, text: bool = False) -> None:
        """Bring the open frames to those of an object."""
        if self._open and self._open[-1].frame is frame and self._open[-1].written == steps:
            if not text:
                self._end_text()
            return
        missing: list[Frame] = []
        at: Frame | None = frame
        while at is not None and at not in self._level:
            missing.append(at)
            at = at.parent
        base = self._level[at] + 1 if at is not None else 0
        while len(self._open) > base:
            self._leave()
        if at is not None:
            self._catch_up(self._open[-1], missing[-1].parent_steps if missing else steps)
        for index in range(len(missing) - 1, -1, -1):
            opened = _Open(missing[index])
            self._level[opened.frame] = len(self._open)
            self._open.append(opened)
            self._catch_up(opened, missing[index - 1].parent_steps if index else steps)
        if not text:
            self._end_text()

    def _catch_up(self, opened: _Open, steps: int) -> None:
        if opened.written >= steps:
            return
        self._end_text()
        if opened.saved is None:
            self._out.append(b"q")
            opened.saved = list(self._state)
        for step in opened.frame.steps[opened.written : steps]:
            if isinstance(step, TextClip):
                self._clip_text(step)
            else:
                self._out.append(step)
        opened.written = steps

    def _clip_text(self, clip: TextClip) -> None:
        self._out.append(b"BT")
        for state, show in clip.parts:
            self._agree(state, text_needs(7), None)
            self._out.append(show)
        self._out.append(b"ET")

    def _leave(self) -> None:
        opened = self._open.pop()
        del self._level[opened.frame]
        if opened.saved is not None:
            self._end_text()
            self._out.append(b"Q")
            self._state = opened.saved
            self._agreed = None

    def _agree(self, state: State, needs: Sequence[Param], dash: bytes | None) -> None:
        """Write the parameters in which the wanted state differs from the one that holds."""
        if dash is None and self._agreed is not None and self._agreed[0] is state and self._agreed[1] is needs:
            return
        now = self._state
        for param in needs:
            wanted = dash if dash is not None and param is _DASH else state[param]
            held = now[param]
            if held is wanted or held == wanted:
                continue
            if param is _EXTENDED:
                self._extend(held, wanted)
            elif param is _FONT and not wanted:
                continue
            else:
                space, line, rest = wanted.partition(b"\n")
                self._out.append(rest if line and held.startswith(space + b"\n") else wanted)
            now[param] = wanted
        self._agreed = (state, needs) if dash is None else None

    def _extend(self, held: bytes, wanted: bytes) -> None:
        """Extended parameters: what the wanted state doesn't set is set back to its default."""
        known = self._scene.extended
        entries: dict[str, PdfObject] = dict(known.get(wanted, {}))
        back = {key: DEFAULTS[key] for key in known.get(held, {}) if key not in entries and key in DEFAULTS}
        self._out.append(extended_name(self._scene, {**entries, **back}) if back else wanted)
