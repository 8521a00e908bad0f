"""What to cut, sew and buy as plain values, as `--json` prints them; the manual has every key."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tiling.failures import advised
from tiling.operations.result_values import Words, artifact_name, finding_values, seam_values

if TYPE_CHECKING:
    from tiling.cloth.cutting_list import CuttingRow
    from tiling.cloth.lay_plan import LayPlan
    from tiling.cloth.notions import Notion
    from tiling.cloth.sizes import SizeRow
    from tiling.operations.plan_cloth import PlanClothResult
    from tiling.operations.write_guide import WriteGuideResult

__all__ = ["cloth_values", "guide_values"]


def cloth_values(result: PlanClothResult, words: Words = advised) -> dict[str, Any]:
    """What to cut, from how much cloth, and what to buy; lengths in mm, nothing rounded."""
    report = result.report
    return {
        "output": artifact_name(result.drawing),
        "title": report.title,
        "scale": report.scale,
        "cutting": [_cutting(row) for row in report.cutting],
        "seams": [seam_values(row) for row in report.seams],
        "sizes": [_size(row) for row in report.sizes],
        "notions": [_notion(notion) for notion in report.notions],
        "cautions": [
            {"heading": caution.heading, "text": caution.text, "rules": list(caution.rules)}
            for caution in report.cautions
        ],
        "lay_plans": [_lay(plan) for plan in report.lays],
        "findings": finding_values(result.findings, words),
    }


def _cutting(row: CuttingRow) -> dict[str, Any]:
    return {
        "piece": row.piece,
        "title": row.title,
        "cut": [{"cloth": share.cloth, "copies": share.copies, "as": share.cut.value} for share in row.shares],
    }


def _size(row: SizeRow) -> dict[str, Any]:
    return {
        "measure": row.measure,
        "body_mm": row.body,
        "ease_asked_mm": row.ease_noted,
        "finished_before_mm": row.before,
        "finished_mm": row.finished,
        "ease_found_mm": row.ease_found,
        "counted": [
            {
                "piece": part.piece,
                "width_mm": part.width,
                "layers": part.layers,
                "taken_off_mm": [{"what": one.word, "width_mm": one.width} for one in part.closings],
            }
            for part in row.counted
        ],
        "not_counted": [{"piece": one.piece, "why": one.why} for one in row.left_out],
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
        "selvedge_mm": plan.choice.selvedge,
        "opened_at_mm": plan.opened_at,
        "length_if_folded_mm": plan.if_folded,
        "shrinkage": plan.choice.shrinkage,
        "length_mm": plan.length,
        "buy_mm": plan.buy,
        "use": plan.use,
        "pieces": [
            {
                "piece": laid.piece.piece,
                "copy": laid.piece.copy,
                "mirrored": laid.face_down,
                "unfolded": laid.piece.unfolded,
                "layers": laid.piece.layers.name.lower().replace("_", "-"),
                "box_mm": [*(float(v) for v in laid.ring.min(axis=0)), *(float(v) for v in laid.ring.max(axis=0))],
            }
            for laid in plan.laid
        ],
    }


def guide_values(result: WriteGuideResult, words: Words = advised) -> dict[str, Any]:
    """The booklet's place."""
    return {
        "output": artifact_name(result.booklet),
        "scale": result.report.scale,
        "findings": finding_values(result.findings, words),
    }
