"""The tables as plain values, for `--json`: lengths in mm, nothing rounded."""

from __future__ import annotations

from typing import Any

from tiling.cloth.cutting_list import CuttingRow
from tiling.cloth.lay_plan import LayPlan
from tiling.cloth.notions import Notion
from tiling.cloth.seams import SeamRow
from tiling.cloth.sewing_report import SewingReport
from tiling.cloth.sizes import SizeRow

__all__ = ["seam_values", "values_of"]


def values_of(report: SewingReport) -> dict[str, Any]:
    """Every table; the keys are part of the contract that the README describes."""
    return {
        "title": report.title,
        "cutting": [_cutting(row) for row in report.cutting],
        "seams": [seam_values(row) for row in report.seams],
        "sizes": [_size(row) for row in report.sizes],
        "notions": [_notion(notion) for notion in report.notions],
        "cautions": [
            {"heading": caution.heading, "text": caution.text, "rules": list(caution.rules)}
            for caution in report.cautions
        ],
        "lay_plans": [_lay(plan) for plan in report.lays],
    }


def _cutting(row: CuttingRow) -> dict[str, Any]:
    return {
        "piece": row.piece,
        "title": row.title,
        "cut": [{"cloth": share.cloth, "copies": share.copies, "as": share.cut.value} for share in row.shares],
    }


def seam_values(row: SeamRow) -> dict[str, Any]:
    """One seam, as `look` and `cloth` list it."""
    return {
        "name": row.name,
        "first": [str(ref) for ref in row.first],
        "second": [str(ref) for ref in row.second],
        "first_mm": row.first_length,
        "second_mm": row.second_length,
        "ease_asked_mm": row.ease_asked,
        "ease_found_mm": row.ease_found,
        "agrees": row.agrees,
        "measured_on": [basis.value for basis in row.bases],
        "notches_mm": [[pair.first, pair.second] for pair in row.notches],
    }


def _size(row: SizeRow) -> dict[str, Any]:
    return {
        "measure": row.measure,
        "body_mm": row.body,
        "ease_asked_mm": row.ease_noted,
        "finished_before_mm": row.before,
        "finished_mm": row.finished,
        "ease_found_mm": row.ease_found,
    }


def _notion(notion: Notion) -> dict[str, Any]:
    return {
        "name": notion.name,
        "kind": notion.kind,
        "place": notion.place,
        "rule": notion.rule,
        "count": notion.count,
        "each_mm" if notion.each.is_length else "each": notion.each.amount,
        "buy_mm" if notion.buy.is_length else "buy": notion.buy.amount,
        "outside_mm": notion.outside,
    }


def _lay(plan: LayPlan) -> dict[str, Any]:
    return {
        "cloth": plan.cloth,
        "width_mm": plan.choice.width,
        "fold": plan.choice.fold.value,
        "nap": plan.choice.nap.value,
        "gap_mm": plan.choice.gap,
        "shrinkage": plan.choice.shrinkage,
        "length_mm": plan.length,
        "buy_mm": plan.buy,
        "use": plan.use,
        "pieces": [
            {
                "piece": laid.piece.piece,
                "copy": laid.piece.copy,
                "mirrored": laid.piece.mirrored,
                "layers": laid.piece.layers.name.lower().replace("_", "-"),
                "box_mm": [*(float(v) for v in laid.ring.min(axis=0)), *(float(v) for v in laid.ring.max(axis=0))],
            }
            for laid in plan.laid
        ],
    }
