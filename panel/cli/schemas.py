"""What each command answers as JSON, by its type, and the schema that is made of it.

A command that answers one of several things names them all. Types are named by where they stand,
so that nothing is loaded before a schema is asked for.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from panel.questions.plain_values import FORMAT

if TYPE_CHECKING:
    from analysis.as_json import Json

_TOLD = "panel.cli.documents"
_RELEASE = "panel.cli.release_documents"
_AGAIN = "panel.cli.told_again"
_EDIT_BACK = "panel.records.lists_back.EditTakenBack"
ANSWERED: dict[str, tuple[str, ...]] = {
    "demo": ("panel.cli.demo_document.DemoTold",),
    "db init": (f"{_TOLD}.DatabaseMade",),
    "db upgrade": ("panel.store.upgrading.Upgrade",),
    "db check": ("panel.store.examine.Examination",),
    "db backup": ("panel.store.backup.Backup",),
    "db restore": ("panel.records.restore.Restored",),
    "db forget": ("panel.store.erasing.Overwriting",),
    "db booth-role": ("panel.store.booth_role.BoothRole",),
    "load": ("panel.intake.report.LoadReport", _EDIT_BACK),
    "save": ("panel.intake.saving.SaveReport", "panel.questions.laid_out.LaidReport"),
    "people list": (f"{_TOLD}.People",),
    "people consent": ("panel.records.consents.ConsentGiven",),
    "people withdraw": ("panel.records.consents.ConsentWithdrawn",),
    "people export": ("panel.store.person_keys.PersonRecord",),
    "people erase": (f"{_TOLD}.Erased",),
    "training begin": ("panel.records.training.TrainingBegun",),
    "training list": ("panel.cli.training.TrainingsTold",),
    "training known": ("panel.cli.training.KnownTold",),
    "training show": ("analysis.training.result.Training",),
    "training take-in": ("panel.records.training.TakenIn",),
    "house show": (f"{_TOLD}.Settings",),
    "house set": (f"{_TOLD}.SettingSet", _EDIT_BACK),
    "stock review": ("panel.cli.stock_documents.ReviewTold",),
    "stock tick": ("panel.records.reviewing.Ticked",),
    "bottles list": ("panel.cli.bottles.BottlesListed",),
    "bottles remark": ("panel.release.lot_bottles.RemarkKept",),
    "bottles trace": ("panel.release.lot_trace.LotTrace",),
    "bottles safety": ("panel.release.lot_trace.RemarkTold",),
    "bottles close": ("panel.cli.bottles_forget.WhoForgotten",),
    "bottles forget": ("panel.cli.bottles_forget.WhoForgotten",),
    "bottles keep": ("panel.release.lot_bottles.BottlesKept",),
    "bottles gone": ("panel.release.lot_bottles.BottleGone",),
    "bottles nose": ("panel.release.lot_nosing.BottlesNosed",),
    "session plan": ("panel.session.summary.PlanSummary",),
    "session next": (f"{_AGAIN}.NextTold",),
    "session power": (
        "analysis.next_glasses.PowerTable",
        "panel.questions.sets.SetsPower",
    ),
    "session list": (f"{_TOLD}.Sessions",),
    "session show": (
        "panel.session.showing.SessionView",
        "panel.questions.glasses.SessionGlasses",
    ),
    "session seal": ("panel.session.seal.Sealed",),
    "session seats": ("panel.session.seats.SeatsChanged",),
    "session sheets": ("panel.cli.session_sheets.Printed",),
    "session key": ("panel.session.keyed.BallotsKept",),
    "session pack": ("panel.session.elsewhere.packing.Packed",),
    "session unpack": ("panel.session.elsewhere.opening.Opened",),
    "session return": ("panel.session.elsewhere.returning.Returned",),
    "session join": ("panel.session.elsewhere.joining.Joined",),
    "session away": ("panel.session.elsewhere.recalled.SessionAway",),
    "session recall": ("panel.session.elsewhere.recalled.SessionAway",),
    "session open": (f"{_TOLD}.StepTaken",),
    "session close": (f"{_TOLD}.StepTaken",),
    "session reopen": (f"{_TOLD}.StepTaken",),
    "session drop": (f"{_TOLD}.StepTaken",),
    "session reveal": ("panel.session.stages.Revealed",),
    "session mark": (f"{_TOLD}.Marked",),
    "session clear": (f"{_TOLD}.Cleared",),
    "session calls": (f"{_TOLD}.Calls",),
    "session words": (f"{_TOLD}.Named",),
    "passing list": (f"{_TOLD}.PlantedTold",),
    "passing sound": ("panel.records.planting.PlantedLine",),
    "passing spike": ("panel.records.planting.PlantedLine",),
    "passing noses": ("analysis.passing.MorningsFound",),
    "passing slips": (f"{_TOLD}.SlipsTold",),
    "passing lift": ("panel.records.lifting.HoldLifted",),
    "agreement": (
        "analysis.agreement.Agreement",
        "panel.questions.own_words.WordsFound",
        "panel.questions.passing.PassingAnswer",
        "panel.questions.sets.DifferenceFound",
        "panel.questions.sets.RankingFound",
        "panel.questions.traces.TracesFound",
        "panel.questions.stages.StagesFound",
        "analysis.agreement.Span",
        "analysis.agreement.sessions.two_casks.TwoCasks",
        "analysis.agreement.one_session.evening.EveningNote",
    ),
    "profile": (f"{_AGAIN}.ProfileTold",),
    "influences": (f"{_AGAIN}.InfluencesTold",),
    "ageing": (f"{_AGAIN}.AgeingTold",),
    "match": (f"{_AGAIN}.MatchTold",),
    "target list": (f"{_TOLD}.Targets",),
    "target show": ("panel.questions.targets.TargetRecord",),
    "target make": (f"{_TOLD}.TargetMade", _EDIT_BACK),
    "vat": (f"{_AGAIN}.VatTold",),
    "release propose": (f"{_RELEASE}.Proposed",),
    "release list": (f"{_RELEASE}.Releases",),
    "release show": (f"{_AGAIN}.ReleaseTold",),
    "release bench": ("panel.release.bench.BenchBlend",),
    "stock plan": ("panel.cli.stock_plan.PlanTold",),
    "stock drop": ("panel.cli.stock_plan.Dropped",),
    "stock plans": ("panel.cli.stock_plan.PlansTold",),
    "release check": ("panel.release.batch_check.BatchChecked",),
    "release batches": ("panel.release.batches.BatchesFound",),
    "release mixing": (f"{_RELEASE}.MixingTold",),
    "release disgorge": (f"{_RELEASE}.Disgorged",),
    "release sign": (f"{_RELEASE}.Signed",),
    "release bottle": (f"{_RELEASE}.Bottled",),
    "release cancel": (f"{_RELEASE}.Cancelled",),
    "release sheet": ("panel.release.sheet.ReleaseSheet",),
    "rules list": (f"{_TOLD}.RuleSets",),
    "rules show": (f"{_TOLD}.Rules",),
    "rules set": (f"{_TOLD}.RuleChanged", _EDIT_BACK),
    "register": ("panel.questions.register.Register",),
    "register tell": ("panel.records.register.Account",),
    "register look": ("panel.records.looks.Look",),
    "register reverse": ("panel.records.register.Reversed",),
    "register session": ("panel.records.register.SessionFates",),
    "register carried": ("panel.session.elsewhere.recalled.CarriedRegister",),
    "register months": ("panel.questions.register_months.Months",),
    "cask": (
        f"{_TOLD}.CasksFolded",
        f"{_TOLD}.Casks",
        f"{_TOLD}.CaskShown",
        f"{_TOLD}.CaskGlasses",
        "panel.records.taking_back.TakenBack",
    ),
    "strength reduce": ("analysis.strength.Reduction",),
    "strength marry": ("analysis.strength.Vatting",),
    "strength at-20": (f"{_TOLD}.At20",),
    "strength weigh": ("analysis.strength.Weighing",),
    "strength read": (f"{_TOLD}.TrueStrength",),
    "strength loss": ("analysis.strength.Evaporation",),
    "strength ullage": (f"{_TOLD}.EmptySpace",),
    "strength until": ("panel.questions.strength.YearsLeft",),
}
BESIDE: dict[str, tuple[str, str, str]] = {
    "agreement": ("after_reopening", "panel.session.reopened.AfterReopening", "SpanSession"),
}
"""A key that a command adds to an answer that cannot hold it, what stands there, or null, and the
definition within the answers that has it too."""
MORE_MAY_COME = (
    "Keys that are here stay, with their meaning, as long as `format` is {format}; new keys may "
    "come at any time, so leave alone what you do not know."
)


def schema(name: str) -> Json:
    """Return the schema of what a command prints with `--json`: JSON Schema, draft 2020-12."""
    from analysis.json_types import DIALECT, SchemaWalk

    walk = SchemaWalk()
    shapes = [_with_format(shape) for kind in ANSWERED[name] for shape in _shapes(walk, kind)]
    if name in BESIDE:
        key, where, within = BESIDE[name]
        beside: Json = {"anyOf": [{"type": "null"}, *_shapes(walk, where)]}
        shapes = [{**each, "properties": {**each["properties"], key: beside}} for each in shapes]
        walk.definitions[within]["properties"][key] = beside
    one: Json = shapes[0] if len(shapes) == 1 else {"anyOf": shapes}
    promise = MORE_MAY_COME.format(format=FORMAT)
    return {
        "$schema": DIALECT,
        "$id": f"urn:oakpanel:{name.replace(' ', '-')}:{FORMAT}",
        "title": f"oakpanel {name} --json",
        **one,
        "description": f"{one.get('description', '')} {promise}".strip(),
        **({"$defs": walk.definitions} if walk.definitions else {}),
    }


def _shapes(walk: Any, where: str) -> list[Json]:
    module, _, name = where.rpartition(".")
    found = walk.object_of(getattr(import_module(module), name))
    about = {"description": found["description"]} if "description" in found else {}
    return [{**about, **each} for each in found.get("anyOf", [found])]


def _with_format(shape: Json) -> Json:
    properties = {"format": {"const": FORMAT}, **shape["properties"]}
    return {**shape, "properties": properties, "required": ["format", *shape.get("required", ())]}
