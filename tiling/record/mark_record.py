"""The drawing's lines as kept in a printed file: to 0.02 mm, with what they are and how they look, packed small."""

from __future__ import annotations

import base64
import binascii
import zlib
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tiling.failures import InputUnfit
from tiling.pattern import Role, Tag
from tiling.planning.printed import STEP, MarkKind, RecordedMark
from tiling.record.json_value import JsonValue
from tiling.shapes import Op, Path
from tiling.shapes.paths import POINTS_OF

__all__ = ["packed_marks", "unpacked_marks"]

MOST_MARKS = 500_000
MOST_POINTS = 5_000_000
_LONGEST_TEXT = 400


def packed_marks(marks: Sequence[RecordedMark]) -> dict[str, Any]:
    """The marks as values for JSON; the same marks give the same values.

    `kinds` lists each distinct (kind, piece, role, name, layer, look) once; `of` has a kind for every mark, `clip` a
    clip path from 1, or 0. Paths (the marks', then the clips') are `steps` (number of steps of each, then the steps)
    and `points` (whole `STEP`s, each point less the one before). Arrays are little-endian, split into planes of bytes,
    compressed with zlib and written in base 64.

    Raises:
        InputUnfit: a coordinate that is no finite number, or more than a record holds.
    """
    kinds: dict[tuple[str, ...], int] = {}
    clips: dict[int, int] = {}
    clip_paths: list[Path] = []
    of, clip = [], []
    for mark in marks:
        tag = mark.tag
        key = (mark.kind.value, tag.piece, tag.role.value, tag.name, tag.layer, mark.look)
        of.append(kinds.setdefault(key, len(kinds)))
        if mark.clip is None:
            clip.append(0)
        else:
            if id(mark.clip) not in clips:
                clip_paths.append(mark.clip)
                clips[id(mark.clip)] = len(clip_paths)
            clip.append(clips[id(mark.clip)])
    paths = [*(mark.path for mark in marks), *clip_paths]
    points = np.concatenate([path.points for path in paths]) if paths else np.zeros((0, 2))
    if len(points) > MOST_POINTS or len(marks) > MOST_MARKS:
        raise InputUnfit(
            f"The drawing has {len(marks):,} marks with {len(points):,} points, more than a file can keep."
        )
    # Half a step goes the same way whatever the last bits of the coordinate say.
    steps = np.round(np.round(points / STEP, 6))
    if not np.all(np.abs(steps) < 2**30):
        raise InputUnfit("The drawing has a coordinate that is no finite number or lies 20 km off; repair the drawing.")
    shifts = np.diff(steps.astype(np.int32), axis=0, prepend=np.zeros((1, 2), dtype=np.int32))
    return {
        "step_mm": STEP,
        "marks": len(marks),
        "clips": len(clip_paths),
        "kinds": [[text[:_LONGEST_TEXT] for text in key] for key in kinds],
        "of": _packed(np.array(of, dtype="<i4")),
        "clip": _packed(np.array(clip, dtype="<i4")),
        "steps": _packed(np.array([len(path.ops) for path in paths], dtype="<i4")),
        "ops": _packed(np.concatenate([path.ops for path in paths]) if paths else np.zeros(0, dtype=np.uint8)),
        "points": _packed(shifts.T.astype("<i4")),
        "contents": [[index, mark.content] for index, mark in enumerate(marks) if mark.content],
    }


def unpacked_marks(given: JsonValue) -> tuple[RecordedMark, ...]:
    """The marks from values as read from JSON.

    Raises:
        InputUnfit: anything that `packed_marks` wouldn't have written.
    """
    if (step := given.key("step_mm")).number(-STEP, STEP) != STEP:
        raise step.wrong(f"is not {STEP:g}")
    count = given.key("marks").whole(0, MOST_MARKS)
    clip_count = given.key("clips").whole(0, count)
    kinds = [_kind(kind) for kind in given.key("kinds").items(count)]
    of = _ints(given.key("of"), count, (0, len(kinds) - 1))
    clip = _ints(given.key("clip"), count, (0, clip_count))
    lengths = _ints(given.key("steps"), count + clip_count, (0, MOST_POINTS))
    total = int(lengths.sum())
    if total > 2 * MOST_POINTS:
        raise given.wrong("has too many steps")
    ops = _array(given.key("ops"), total, np.dtype(np.uint8))
    if total and int(ops.max()) > Op.CLOSE:
        raise given.key("ops").wrong("has a step of no known kind")
    used = POINTS_OF[ops]
    point_count = int(used.sum())
    if point_count > MOST_POINTS:
        raise given.wrong("has too many points")
    shifts = _array(given.key("points"), 2 * point_count, np.dtype("<i4")).reshape(2, point_count).T
    places = np.cumsum(shifts.astype(np.int64), axis=0)
    if point_count and int(np.abs(places).max()) > 2**30:
        raise given.key("points").wrong("has a point far off")
    paths = _paths(given, lengths, ops, np.asarray(places * STEP, dtype=np.float64))
    contents = _contents(given.key("contents"), count)
    clip_paths = paths[count:]
    return tuple(
        RecordedMark(
            kind, tag, look, path, clip_paths[clip[index] - 1] if clip[index] else None, contents.get(index, "")
        )
        for index, ((kind, tag, look), path) in enumerate(zip((kinds[k] for k in of), paths[:count], strict=True))
    )


def _paths(
    given: JsonValue, lengths: NDArray[np.int64], ops: NDArray[np.uint8], points: NDArray[np.float64]
) -> list[Path]:
    ends = np.cumsum(lengths)
    starts = ends - lengths
    filled = lengths > 0
    if np.any(ops[starts[filled]] != Op.MOVE):
        raise given.key("ops").wrong("has a path that doesn't begin with a move")
    spent = np.concatenate([[0], np.cumsum(POINTS_OF[ops])])
    return [
        Path(ops[a:b].copy(), points[spent[a] : spent[b]].copy())
        for a, b in zip(starts.tolist(), ends.tolist(), strict=True)
    ]


def _kind(given: JsonValue) -> tuple[MarkKind, Tag, str]:
    texts = given.texts(6, _LONGEST_TEXT)
    try:
        kind, piece, role, name, layer, look = texts
        return MarkKind(kind), Tag(piece, Role(role), name, layer), look
    except ValueError:
        raise given.wrong("names a kind of mark that isn't known") from None


def _contents(given: JsonValue, count: int) -> dict[int, str]:
    contents = {}
    for item in given.items(count):
        index, digest = item.items(2, exactly=True)
        contents[index.whole(0, count - 1)] = digest.text(64)
    return contents


def _packed(array: NDArray[Any]) -> str:
    planes = np.ascontiguousarray(array).view(np.uint8).reshape(-1, array.dtype.itemsize).T
    # Level 4 packs half a million points in a quarter of a second.
    return base64.b64encode(zlib.compress(planes.tobytes(), 4)).decode("ascii")


def _array(given: JsonValue, count: int, dtype: np.dtype[Any]) -> NDArray[Any]:
    """An array of exactly so many numbers; nothing larger is ever unpacked."""
    size = count * dtype.itemsize
    try:
        packed = base64.b64decode(given.text(100_000_000), validate=True)
        unpack = zlib.decompressobj()
        data = unpack.decompress(packed, size + 1)
    except (binascii.Error, ValueError, zlib.error):
        raise given.wrong("can't be unpacked") from None
    if len(data) != size or not unpack.eof or unpack.unused_data:
        raise given.wrong("has not as many numbers as it should")
    planes = np.frombuffer(data, dtype=np.uint8).reshape(dtype.itemsize, count)
    return np.ascontiguousarray(planes.T).view(dtype).reshape(count)


def _ints(given: JsonValue, count: int, bounds: tuple[int, int]) -> NDArray[np.int64]:
    numbers = np.asarray(_array(given, count, np.dtype("<i4")), dtype=np.int64)
    if count and (int(numbers.min()) < bounds[0] or int(numbers.max()) > bounds[1]):
        raise given.wrong(f"has a number outside {bounds[0]} to {bounds[1]}")
    return numbers
