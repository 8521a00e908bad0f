"""What a scale means: true or not, the likely cause, and the sewing consequence."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibrate.papers import paper_of
from calibrate.printer_scale import MeasuredScale, PrinterScale
from calibrate.scale import measured_by_ruler
from calibrate.verdict import Verdict, consequence, judge, known_ratios, likely_cause

A4, LETTER = paper_of(210.0, 297.0), paper_of(215.9, 279.4)

scales = st.builds(MeasuredScale, st.floats(0.9, 1.1), st.floats(0.9, 1.1), st.floats(0.0, 0.02), st.floats(0.0, 0.02))


@settings(max_examples=300, deadline=None)
@given(scales, st.floats(0.001, 0.02))
def test_a_verdict_is_sure_only_outside_the_uncertainty(scale: MeasuredScale, tolerance: float) -> None:
    """True and rescaled are never said of a scale whose uncertainty reaches over the tolerance."""
    verdict = judge(scale, tolerance)
    off = [abs(scale.across - 1), abs(scale.down - 1)]
    doubt = [scale.uncertainty_across, scale.uncertainty_down]
    if verdict is Verdict.TRUE:
        assert all(o + d <= tolerance for o, d in zip(off, doubt, strict=True))
    elif verdict is Verdict.RESCALED:
        assert any(o - d > tolerance for o, d in zip(off, doubt, strict=True))
    else:
        assert any(o + d > tolerance for o, d in zip(off, doubt, strict=True))
        assert all(o - d <= tolerance for o, d in zip(off, doubt, strict=True))


@pytest.mark.parametrize(
    ("across", "doubt", "verdict"),
    [(1.001, 0.002, Verdict.TRUE), (1.004, 0.002, Verdict.NOT_SURE), (0.97, 0.008, Verdict.RESCALED),
     (1.0, 0.008, Verdict.NOT_SURE)],
)  # fmt: skip
def test_verdicts_at_half_a_per_cent(across: float, doubt: float, verdict: Verdict) -> None:
    """The three verdicts at the usual tolerance."""
    assert judge(MeasuredScale(across, 1.0, doubt, 0.001), 0.005) is verdict


def test_ratios_are_those_of_the_papers() -> None:
    """A4 on letter 0.9407, letter on A4 0.9727; A4 inside margins of 3, 4.23, 5 and 6.35 mm (ISO 216, PWG 5101.1)."""
    ratios = [round(ratio, 4) for ratio, _ in known_ratios(210.0, 297.0)]
    assert ratios == [0.9407, 0.9714, 0.9597, 0.9524, 0.9395]
    assert round(known_ratios(215.9, 279.4)[0][0], 4) == 0.9727


def test_an_a4_page_is_not_said_to_be_a_letter_page() -> None:
    """At 0.9727 (letter on A4, ISO 216 and ANSI) a page drawn for A4 has another cause, or none that is known."""
    cause = likely_cause(MeasuredScale(0.9727, 0.9727, 0.001, 0.001), A4, None)
    assert cause is None or "letter" not in cause


@pytest.mark.parametrize(
    ("scale", "says"),
    [(0.9407, "A4 page shrunk to fit letter"), (0.9524, "margins of 5 mm makes 95.24 mm of 100 mm"),
     (0.9597, "margins of 4.23 mm")],
)  # fmt: skip
def test_a_known_ratio_names_its_cause(scale: float, says: str) -> None:
    """The number that would give the ratio stands in the words."""
    cause = likely_cause(MeasuredScale(scale, scale, 0.001, 0.001), A4, None)
    assert cause is not None
    assert says in cause


@pytest.mark.parametrize(
    "scale",
    [MeasuredScale(across, down, 1e-3, 1e-3) for across, down in ((0.985, 0.985), (0.9727, 0.99), (1.0, 1.0))],
)
def test_an_unknown_ratio_names_none(scale: MeasuredScale) -> None:
    """Nothing is made up for a ratio no setting gives, for unequal directions, or for a true print."""
    assert likely_cause(scale, A4, None) is None


@pytest.mark.parametrize(
    ("margins", "borne_out"),
    [((3.0, 4.2, 3.0, 4.2), True), ((2.0, 3.4, 4.0, 5.0), True), ((-0.5, 4.2, 6.5, 4.2), False),
     ((5.0, 7.1, 5.0, 7.1), False)],
    ids=["within margins", "shifted by a millimetre", "beyond the sheet", "other margins"],
)  # fmt: skip
def test_a_cause_needs_the_page_to_lie_on_the_sheet_as_it_would(margins: tuple[float, ...], *, borne_out: bool) -> None:
    """At 0.9714 an A4 page leaves 3 mm left and right and 4.2 mm top and bottom (ISO 216); it lies within them."""
    cause = likely_cause(MeasuredScale(0.9714, 0.9714, 0.011, 0.008), A4, None, margins)
    assert (cause is not None and "margins of 3 mm" in cause) is borne_out


def test_a_page_at_full_size_on_another_paper_was_not_shrunk_to_it() -> None:
    """On letter at 0.998, or sticking out of it, an A4 page was not made to fit (that would give 0.9407 or less)."""
    assert likely_cause(MeasuredScale(0.99, 0.99, 0.004, 0.004), A4, LETTER) is None
    assert likely_cause(MeasuredScale(0.94, 0.94, 0.008, 0.008), A4, LETTER, (9.0, -8.8, 9.0, 9.0)) is None


def test_another_paper_is_named() -> None:
    """An A4 page found on a letter sheet is said to be just that, with 0.9407."""
    cause = likely_cause(MeasuredScale(0.94, 0.94, 0.008, 0.008), A4, LETTER)
    assert cause is not None
    assert "drawn for A4" in cause
    assert "printed on letter" in cause
    assert "94.07 mm of 100 mm" in cause


def test_the_consequence_is_told_in_sewing_terms() -> None:
    """A page at 0.9717 makes a 60 cm hem 58.3 cm; the worse direction is told."""
    assert consequence(MeasuredScale(0.9717, 0.99, 1e-4, 1e-4)).startswith("a 60 cm hem would come out 58.3 cm across")
    assert "down" in consequence(MeasuredScale(0.999, 1.02, 1e-4, 1e-4))


@pytest.mark.parametrize(
    ("across", "corrected", "kept"),
    [(97.0, 1.0, True), (80.0, 1.0, True), (79.9, 1.0, False), (126.0, 1.0, False), (79.0, 1.1, True),
     (90.0, 0.85, False)],
)  # fmt: skip
def test_a_correction_is_advised_only_where_it_would_be_kept(across: float, corrected: float, kept: bool) -> None:
    """What counts is the printer's own scale, without what was corrected on the page."""
    found = measured_by_ruler(across, 100.0, corrected=PrinterScale(corrected, 1.0))
    assert found.printer.across == pytest.approx(across / 100.0 * corrected)
    assert ("keep this result" in str(found.next_step)) is kept
    assert "100 %" in str(found.next_step)
    if not kept:
        assert "0.80 to 1.25" in str(found.next_step)


def test_a_ruler_gives_the_same_answer_with_its_own_uncertainty() -> None:
    """97.0 x 97.2 mm is rescaled; 100.0 x 100.2 mm can't be told from true to half a per cent."""
    rescaled = measured_by_ruler(97.0, 97.2)
    assert (rescaled.scale.across, rescaled.scale.down) == (0.970, pytest.approx(0.972))
    assert rescaled.verdict is Verdict.RESCALED
    assert rescaled.scale.uncertainty_across == pytest.approx(0.005)
    assert measured_by_ruler(100.0, 100.2).verdict is Verdict.NOT_SURE
    assert measured_by_ruler(100.0, 100.2, tolerance=0.01).verdict is Verdict.TRUE
    with pytest.raises(ValueError, match="100 mm square"):
        measured_by_ruler(10.0, 10.0)
