"""What a person can do, in the words of the command line."""

from __future__ import annotations

from enum import StrEnum
from string import Formatter

import pytest

from calibrate.failures import Action as Measuring
from calibrate.failures import PageseamError, Reason, Refusal
from tiling.commands.remedies import REMEDIES, in_options, refusal_in_options, told
from tiling.failures import Action, Remedy


@pytest.mark.parametrize("action", [*Action, *Measuring])
def test_every_action_has_words_at_the_terminal(action: StrEnum) -> None:
    """The table is total, and takes the values that the plain advice takes."""
    fields = {name for _, name, _, _ in Formatter().parse(REMEDIES[action]) if name is not None}
    plain = {name for _, name, _, _ in Formatter().parse(action.value) if name is not None}
    assert fields - {"what"} <= plain


def test_no_two_actions_are_one_key() -> None:
    """An action is its advice: two of the same words would share one row of the table."""
    assert len({*Action, *Measuring}) == len(Action) + len(Measuring)


@pytest.mark.parametrize("action", [*Action, *Measuring])
def test_plain_advice_names_no_option_and_no_command(action: StrEnum) -> None:
    """It is shown by a web page and raised to a program as well."""
    assert "--" not in action.value
    assert " -o" not in action.value
    assert "pageseam" not in action.value


def test_a_message_without_a_remedy_stays_as_it_is() -> None:
    """And one with a remedy is a whole sentence on one line, whatever a name holds."""
    assert in_options("as it is", None) == "as it is"
    failure = PageseamError("a{0}\nb: exists already", Remedy(Action.REPLACE_OR_RENAME))
    assert told(failure) == "a{0} b: exists already; add --force to replace it or choose another name with -o."


def test_a_refusal_s_remedy_joins_its_detail() -> None:
    """So the terminal and its JSON say the same; a refusal without one stays as it is."""
    bare = Refusal(Reason.NO_REFERENCE, "the sheet may be this or that")
    assert refusal_in_options(bare) == bare
    said = refusal_in_options(Refusal(bare.reason, bare.detail, Remedy(Measuring.CARD_OR_SIDES)))
    assert said.remedy is None
    assert said.detail.startswith("the sheet may be this or that: lay a card in the outline, or measure")
    assert "--sheet" in said.detail


def test_what_is_said_of_pages_layers_and_px_reads_as_it_always_did() -> None:
    """The whole sentences, word for word."""
    assert in_options("mat.pdf: has no page 9, but pages 1 to 3", Remedy(Action.CHOOSE_PAGE)) == (
        "mat.pdf: has no page 9, but pages 1 to 3; choose one of them with --page."
    )
    assert in_options("mat.svg: an SVG has one page only", Remedy(Action.LEAVE_PAGES_OUT)) == (
        "mat.svg: an SVG has one page only; leave --page out."
    )
    assert in_options("mat.svg: has no layer 'x'; there are 'a'", Remedy(Action.CHOOSE_LAYER)) == (
        "mat.svg: has no layer 'x'; there are 'a'. Choose with --layer."
    )
    assert in_options("m.svg: nothing is drawn outside its hidden layers", Remedy(Action.SHOW_LAYER, ("a",))) == (
        "m.svg: nothing is drawn outside its hidden layers; show them with --layer 'a'."
    )
    assert in_options("The drawing states no size; it is so", Remedy(Action.TRY_RATES, ("72", "90", "25.4"))) == (
        "The drawing states no size; it is so. If a known length comes out wrong, it was drawn at another rate: "
        "say --px-per-inch 72, 90 or, where 1 unit = 1 mm, 25.4."
    )
    assert in_options("It would be larger", Remedy(Action.GIVE_RATE, ("if so",))) == (
        "It would be larger; if so, say --px-per-inch."
    )
