"""The pages of the desk by name; which one a place opens with, and the number that leads there."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import TYPE_CHECKING, Any

from textual.binding import Binding

from panel.desk.window import PLACES

if TYPE_CHECKING:
    from textual.screen import Screen

HOMES = {
    "sessions": ("panel.desk.sessions", "SessionsPage"),
    "casks": ("panel.desk.casks", "CasksPage"),
    "targets": ("panel.desk.targets", "TargetsPage"),
    "lexicon": ("panel.desk.lexicon", "LexiconPage"),
    "people": ("panel.desk.people", "PeoplePage"),
    "releases": ("panel.desk.releases", "ReleasesPage"),
    "house": ("panel.desk.house_page", "HousePage"),
}
TOLD = {"house": "Settings, rules, register of samples, files and database"}
"""What a place holds where its name does not say it."""
PAGES = {
    "start": ("panel.desk.start_page", "StartPage"),
    "session": ("panel.desk.session_page", "SessionPage"),
    "session glasses": ("panel.desk.glasses_page", "SessionGlassesPage"),
    "cask glasses": ("panel.desk.glasses_page", "CaskGlassesPage"),
    "plan": ("panel.desk.plan_form", "PlanForm"),
    "next": ("panel.desk.next_page", "NextPage"),
    "next choices": ("panel.desk.next_forms", "NextChoicesPage"),
    "plan next": ("panel.desk.next_forms", "PlanNextForm"),
    "planted": ("panel.desk.planted_page", "PlantedPage"),
    "new spike": ("panel.desk.planted_page", "SpikeForm"),
    "known sound": ("panel.desk.planted_page", "SoundForm"),
    "slips": ("panel.desk.passing_texts", "SlipsPage"),
    "noses": ("panel.desk.passing_texts", "NosesPage"),
    "trainings": ("panel.desk.training_pages", "TrainingsPage"),
    "training begins": ("panel.desk.training_pages", "BeginTrainingForm"),
    "readiness": ("panel.desk.training_pages", "ReadinessPage"),
    "taken in": ("panel.desk.training_pages", "TakeInForm"),
    "power": ("panel.desk.power_page", "PowerPage"),
    "power form": ("panel.desk.power_page", "PowerForm"),
    "span": ("panel.desk.span_page", "SpanPage"),
    "drift": ("panel.desk.drift_page", "DriftPage"),
    "assessor": ("panel.desk.assessor_page", "AssessorPage"),
    "side by side": ("panel.desk.side_by_side", "SideBySidePage"),
    "cask": ("panel.desk.cask_page", "CaskPage"),
    "new cask": ("panel.desk.new_cask", "CaskForm"),
    "new make": ("panel.desk.new_cask", "MakeForm"),
    "strength": ("panel.desk.strength_page", "StrengthPage"),
    "narrow": ("panel.desk.narrow_form", "NarrowForm"),
    "draw": ("panel.desk.draw_form", "DrawForm"),
    "draw blend": ("panel.desk.draw_form", "TrialForm"),
    "hold": ("panel.desk.hold_form", "HoldForm"),
    "ageing": ("panel.desk.ageing_page", "AgeingPage"),
    "windows": ("panel.desk.windows_page", "WindowsPage"),
    "influences": ("panel.desk.influences_page", "InfluencesPage"),
    "found": ("panel.desk.found_page", "FoundPage"),
    "target": ("panel.desk.target_page", "TargetPage"),
    "target lines": ("panel.desk.target_lines", "TargetLinesPage"),
    "new target": ("panel.desk.target_lines", "TargetForm"),
    "like": ("panel.desk.like_page", "LikePage"),
    "keep like": ("panel.desk.like_page", "KeepLikeForm"),
    "new blend": ("panel.desk.blend_forms", "BlendForm"),
    "blend": ("panel.desk.blend_page", "BlendPage"),
    "keep blend": ("panel.desk.blend_forms", "KeepForm"),
    "release": ("panel.desk.release_page", "ReleasePage"),
    "stock plans": ("panel.desk.stock_plans", "StockPlansPage"),
    "stock plan": ("panel.desk.stock_plan_page", "StockPlanPage"),
    "planned release": ("panel.desk.stock_plan_forms", "PlannedReleaseForm"),
    "plan whole": ("panel.desk.plan_whole_form", "PlanWholeForm"),
    "plan change": ("panel.desk.stock_plan_forms", "PlanChangeForm"),
    "propose planned": ("panel.desk.stock_plan_forms", "ProposePlannedForm"),
    "batch check": ("panel.desk.batch_forms", "BatchCheckForm"),
    "bench": ("panel.desk.release_forms", "BenchForm"),
    "sign": ("panel.desk.release_forms", "SignForm"),
    "bottle": ("panel.desk.release_forms", "BottleForm"),
    "cancel": ("panel.desk.release_forms", "CancelForm"),
    "tasting": ("panel.desk.tasting_form", "TastingForm"),
    "guests": ("panel.desk.guests_page", "GuestsPage"),
    "guest sheet": ("panel.desk.guests_page", "SheetForm"),
    "exponent": ("panel.desk.mixing_forms", "ExponentForm"),
    "disgorge": ("panel.desk.disgorge_form", "DisgorgeForm"),
    "picture": ("panel.desk.picture_page", "PicturePage"),
    "mark": ("panel.desk.mark_form", "MarkForm"),
    "reopen": ("panel.desk.mark_form", "ReopenForm"),
    "new descriptor": ("panel.desk.lexicon_form", "DescriptorForm"),
    "new version": ("panel.desk.lexicon_form", "VersionForm"),
    "person": ("panel.desk.person_page", "PersonPage"),
    "new person": ("panel.desk.people_forms", "PersonForm"),
    "roles": ("panel.desk.people_forms", "RolesForm"),
    "consent": ("panel.desk.people_forms", "ConsentForm"),
    "leaving": ("panel.desk.people_forms", "LeavingForm"),
    "erase": ("panel.desk.erase_form", "EraseForm"),
    "settings": ("panel.desk.settings_page", "SettingsPage"),
    "rules": ("panel.desk.rules_page", "RulesPage"),
    "rule": ("panel.desk.rule_forms", "RuleForm"),
    "drop rule": ("panel.desk.rule_forms", "DropRuleForm"),
    "register": ("panel.desk.register_page", "RegisterPage"),
    "tell": ("panel.desk.fate_forms", "TellForm"),
    "pack": ("panel.desk.elsewhere_forms", "PackForm"),
    "give back": ("panel.desk.elsewhere_forms", "ReturnForm"),
    "recall": ("panel.desk.elsewhere_forms", "RecallForm"),
    "join": ("panel.desk.elsewhere_forms", "JoinForm"),
    "open pack": ("panel.desk.elsewhere_forms", "OpenPackForm"),
    "key in": ("panel.desk.key_in_form", "KeyInForm"),
    "look": ("panel.desk.fate_forms", "LookForm"),
    "serve": ("panel.desk.serve_page", "ServePage"),
    "start serve": ("panel.desk.serve_page", "ServeForm"),
    "seats": ("panel.desk.seats_form", "SeatsForm"),
    "fates": ("panel.desk.fate_forms", "FatesForm"),
    "reverse": ("panel.desk.fate_forms", "ReverseForm"),
    "check": ("panel.desk.database_forms", "CheckForm"),
    "backup": ("panel.desk.database_forms", "BackupForm"),
    "restore": ("panel.desk.restore_form", "RestoreForm"),
    "load": ("panel.desk.load_form", "LoadForm"),
    "folder": ("panel.desk.folder_form", "FolderForm"),
    "save": ("panel.desk.save_form", "SaveForm"),
    "review": ("panel.desk.review_page", "ReviewPage"),
    "folded": ("panel.desk.fold_page", "FoldPage"),
    "seen to": ("panel.desk.review_page", "SeenToForm"),
    "stock part": ("panel.desk.review_page", "StockPartForm"),
    "remarks": ("panel.desk.remarks_page", "RemarksPage"),
    "remark": ("panel.desk.remarks_page", "RemarkForm"),
    "close remark": ("panel.desk.forget_forms", "CloseRemarkForm"),
    "safety told": ("panel.desk.remarks_page", "SafetyForm"),
    "forget who": ("panel.desk.forget_forms", "ForgetWhoForm"),
    "agreement": ("panel.desk.agreement_page", "AgreementPage"),
    "lot": ("panel.desk.lot_page", "LotPage"),
    "lot bottles": ("panel.desk.lot_page", "LotBottlesForm"),
    "bottle gone": ("panel.desk.lot_page", "BottleGoneForm"),
    "nose lot": ("panel.desk.lot_page", "NoseLotForm"),
    "retire": ("panel.desk.lexicon_form", "RetireForm"),
}
"""Every page that another page opens. Pages lead to one another in rings; by name, no module needs
the other to be loaded."""


def page_of(name: str, *given: object) -> Screen[Any]:
    """Make the page of that name; its module is loaded only then."""
    module, kind = PAGES[name]
    page: Screen[Any] = getattr(import_module(module), kind)(*given)
    return page


def home(place: str) -> Callable[[], Screen[Any]]:
    """Return a maker of a place's first page that loads its module only then."""

    def make() -> Screen[Any]:
        module, name = HOMES[place]
        page: Screen[Any] = getattr(import_module(module), name)()
        return page

    return make


def place_keys() -> list[Binding]:
    """Return a number for each place."""
    return [
        Binding(
            str(number),
            f"go('{place}')",
            f"Go to {words}",
            show=False,
            id=f"desk.{place}",
            tooltip=TOLD.get(place, f"The {words.lower()} of the house"),
        )
        for number, (place, words) in enumerate(PLACES, 1)
    ]
