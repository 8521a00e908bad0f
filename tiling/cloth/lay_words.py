"""What is said of a lay plan: how the cloth lies, the figures, the key to the picture, and each piece in words."""

from __future__ import annotations

from collections.abc import Iterator

from tiling.cloth.cloth_choice import BuyingStep, ClothFold, Nap
from tiling.cloth.cutting_list import INTERFACING, LINING
from tiling.cloth.lay_pieces import Layers
from tiling.cloth.lay_plan import LaidPiece, LayPlan
from tiling.cloth.units import Units
from tiling.lengths import in_percent

__all__ = ["facts", "heading", "key", "piece_words", "way_it_lies"]


def way_it_lies(plan: LayPlan, units: Units) -> str:
    """Such as ``folded lengthwise, right sides together``, and from where on the cloth is opened out."""
    side = "adhesive side" if plan.cloth == INTERFACING else "right side"
    if plan.choice.fold is ClothFold.NONE or plan.opened_at == 0.0:
        return f"opened out, {side} up"
    folded = f"folded lengthwise, {side}s together"
    return folded if plan.opened_at is None else f"{folded}, opened out from {units.length(plan.opened_at)} on"


def heading(plan: LayPlan, units: Units) -> str:
    """Such as ``main cloth, 140.0 cm wide, folded lengthwise, right sides together``."""
    name = plan.cloth if plan.cloth in {INTERFACING, LINING} else f"{plan.cloth} cloth"
    return f"{name}, {units.length(plan.choice.width)} wide, {way_it_lies(plan, units)}"


def facts(plan: LayPlan, units: Units) -> tuple[str, ...]:
    """The figures: need, buy, use, gap, selvedge, nap."""
    choice = plan.choice
    step = "5 cm" if choice.step is BuyingStep.FIVE_CM else "1/8 yd"
    washed = f"{in_percent(choice.shrinkage, 1)} lost in the wash and " if choice.shrinkage else ""
    edge = f", {units.small(choice.selvedge)} free along each selvedge" if choice.selvedge else ""
    return (
        f"length needed {units.length(plan.length)}",
        f"to buy {units.cloth(plan.buy)} ({washed}rounded up to the next {step})",
        f"{in_percent(plan.use, 1)} of the cloth used",
        f"gap between pieces {units.small(choice.gap)}{edge}",
        "one way only (nap)" if choice.nap is Nap.ONE_WAY else "half turns allowed",
    )


def key(plan: LayPlan, units: Units) -> Iterator[str]:
    """Sentences on how to lay the cloth and read the picture."""
    interfacing = plan.cloth == INTERFACING
    side = "adhesive side" if interfacing else "right side"
    folded = plan.choice.fold is ClothFold.LENGTHWISE and plan.opened_at != 0.0
    if folded:
        seen = "other" if interfacing else "wrong"
        yield f"The cloth lies double, {side}s together, so that its {seen} side is seen."
    if not folded or plan.opened_at is not None:
        after = "Where it is opened out it" if folded else "The cloth"
        yield f"{after} lies in one layer, {side} up."
    if plan.if_folded is not None:
        yield f"Folded all along, with every half on the fold, it would take {units.length(plan.if_folded)}."
    if any(laid.piece.layers is Layers.SINGLE for laid in plan.laid) and folded:
        yield "Pieces marked 'upper layer' are cut from that layer only."
    if any(laid.face_down for laid in plan.laid):
        yield "Darker pieces lie printed side down."
    if any(laid.piece.unfolded for laid in plan.laid):
        yield "'Unfolded' pieces are drawn as halves: draw round one, turn the paper over along its fold line, draw on."
    if plan.cloth == LINING and any(laid.piece.faces_in for laid in plan.laid):
        yield "The lining's right side faces in, so its pieces lie the other way round than those of the main cloth."
    ways = "all point the same way" if plan.choice.nap is Nap.ONE_WAY else "point"
    yield f"Arrows lie along the grain; they {ways} as the grainlines' heads do, or else to the top of the drawing."


def piece_words(plan: LayPlan, laid: LaidPiece) -> list[str]:
    """Such as ``1 of 2``, ``upper layer``, ``printed side down``: what is to be known of one piece besides its name."""
    piece = laid.piece
    words = [f"{piece.copy} of {piece.copies}"] if piece.copies > 1 else []
    match piece.layers:
        case Layers.ON_FOLD:
            words.append("on the fold")
        case Layers.DOUBLE:
            words.append("both layers")
        case Layers.SINGLE if plan.choice.fold is ClothFold.LENGTHWISE:
            words.append("upper layer")
        case _:
            pass
    if piece.unfolded:
        words.append("unfolded")
    if laid.face_down:
        words.append("printed side down")
    return words
