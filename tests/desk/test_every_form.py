"""Every form: its finishing key and the way back stand at 80 columns, and what was typed is not
lost by one Escape."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from inspect import Parameter, signature

import pytest
from textual.binding import Binding

from panel.desk.app import DeskApp
from panel.desk.blend_forms import BlendForm
from panel.desk.draw_form import ProposingForm, TrialForm
from panel.desk.elsewhere_forms import OfSession, PackForm, RecallForm, ReturnForm
from panel.desk.entries import TextLine
from panel.desk.erase_form import EraseForm
from panel.desk.fate_forms import FatesForm, TellForm
from panel.desk.file_field import FileForm
from panel.desk.form import FormPage
from panel.desk.load_form import LoadForm
from panel.desk.mark_form import ReopenForm
from panel.desk.narrow_form import NarrowForm
from panel.desk.people_forms import LeavingForm, RolesForm
from panel.desk.power_page import PowerForm
from panel.desk.record_form import RecordForm
from panel.desk.release_forms import BenchForm, BottleForm, CancelForm, ReleaseForm
from panel.desk.rule_forms import RuleForm
from panel.desk.seats_form import SeatsForm
from panel.desk.stock_plan_forms import PlanChangeForm
from panel.desk.strength_page import StrengthPage
from panel.desk.text_page import TextFileForm
from panel.questions.cask_narrowing import CaskIndex, Narrowing
from panel.questions.people import PersonLine
from tests.desk.driving import press, seen, settle
from tests.desk.test_keys import MODULES, WITH_KEYS
from tests.thinned import some

FORMS = sorted(
    {
        kind
        for module in MODULES
        for kind in vars(module).values()
        if isinstance(kind, type) and issubclass(kind, FormPage)
    },
    key=lambda kind: kind.__qualname__,
)
BASES = {OfSession, FormPage, RecordForm, FileForm, ProposingForm, ReleaseForm, StrengthPage}
BASES |= {kind for kind in FORMS if kind.__name__ == "DeedForm"}
GIVEN: dict[type[FormPage], Callable[[], FormPage]] = {
    BenchForm: lambda: BenchForm("R1"),
    BottleForm: lambda: BottleForm("R1", 10),
    CancelForm: lambda: CancelForm("R1"),
    EraseForm: lambda: EraseForm("AB"),
    FatesForm: lambda: FatesForm("S1"),
    LeavingForm: lambda: LeavingForm("AB"),
    NarrowForm: lambda: NarrowForm(CaskIndex(), Narrowing()),
    ReopenForm: lambda: ReopenForm("S1"),
    SeatsForm: lambda: SeatsForm("S1"),
    **{each: partial(each, "S1") for each in (PackForm, RecallForm, ReturnForm)},
    RolesForm: lambda: RolesForm(PersonLine("AB", ("assessor",), False, None, None, 0)),
    RuleForm: lambda: RuleForm(None),
    TellForm: lambda: TellForm(["D1"]),
    TextFileForm: lambda: TextFileForm("house", "x.txt", "x"),
    TrialForm: lambda: TrialForm({"SW1": 1.0}, "Spring vatting"),
}


def made(kind: type[FormPage]) -> FormPage | None:
    if kind in GIVEN:
        return GIVEN[kind]()
    wanted = [
        each for each in signature(kind).parameters.values() if each.default is Parameter.empty
    ]
    return None if wanted else kind()


WALKED = [kind for kind in FORMS if kind not in BASES and made(kind) is not None]


@pytest.mark.parametrize("kind", FORMS, ids=lambda kind: kind.__name__)
def test_only_what_keeps_nothing_goes_by_one_escape(kind: type[FormPage]) -> None:
    goes_at_once = kind is FormPage or kind is StrengthPage
    assert ("action_back" in vars(kind)) == goes_at_once
    finishing = next(
        binding
        for each in kind.__mro__
        for binding in vars(each).get("BINDINGS", [])
        if isinstance(binding, Binding) and binding.id == "form.keep"
    )
    assert finishing.key == "ctrl+s,f8", "one hand holds a glass"


def test_what_keeps_nothing_says_that_it_only_asks() -> None:
    asks = {kind for kind in FORMS if kind.ONLY_ASKS}
    assert {BlendForm, NarrowForm, PlanChangeForm, PowerForm, StrengthPage} <= asks
    assert asks == {kind for kind in asks if kind.ACT is None and not issubclass(kind, RecordForm)}
    said = {kind for kind in FORMS if "nothing is written" in (kind.__doc__ or "")}
    assert said <= asks | {LoadForm}


async def test_a_form_that_only_asks_speaks_of_no_writing(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "6", "n", "ctrl+s")
        assert isinstance(desk.screen, BlendForm)
        assert "Not yet: 2 entries are not right." in "\n".join(seen(desk))
        assert "written" not in "\n".join(seen(desk))


def test_no_chord_is_the_only_way_but_to_leave_which_stands_in_the_list_of_all() -> None:
    chords = [
        binding.id
        for kind in WITH_KEYS
        for binding in kind.BINDINGS
        if isinstance(binding, Binding) and all("+" in key for key in binding.key.split(","))
    ]
    assert chords == ["desk.leave"]


@pytest.mark.parametrize("half", some([0, 1], 2))
async def test_every_form_shows_its_two_ways_and_keeps_what_was_typed(
    desk: DeskApp, half: int
) -> None:
    assert len(WALKED) >= 28
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        for kind in WALKED[half::2]:
            form = made(kind)
            assert form is not None
            await desk.push_screen(form)
            await settle(pilot)
            keys = seen(desk)[-1]
            assert keys.lstrip().startswith(("ctrl+s ", "f8 ")), (kind, keys)
            assert " esc " in keys, (kind, keys)
            typed = [line for line in form.lines if isinstance(line.entry, TextLine)]
            if typed:
                typed[0].entry.value += "z"
                await press(pilot, "escape")
                assert desk.screen is form, kind
                assert "Escape once more throws it away" in "\n".join(seen(desk)), kind
            await press(pilot, "escape")
            assert desk.screen is not form, kind
