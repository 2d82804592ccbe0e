"""The only values that may come out of a kept file, by name: anything else there is foreign."""

from __future__ import annotations

from functools import cache
from importlib import import_module

PROFILE = {
    "panel.kinds": ("GlassKind", "RuleKind"),
    "analysis.profile.result": ("Profile", "DescriptorFit"),
    "analysis.profile.posterior": ("Posterior", "Latent"),
    "analysis.profile.lines": ("Straight",),
    "analysis.profile.found": ("FoundOrNot",),
    "analysis.profile.curve": ("Curve",),
    "analysis.profile.ends": ("ReadAs",),
    "analysis.profile.links": ("Link",),
    "analysis.profile.camps": ("NoteCamps",),
    "analysis.profile.compared": ("Compared",),
    "analysis.profile.one_order": ("OneOrder",),
}
STOCK = {
    "analysis.bars": ("Bar", "Barred", "BarRules", "FillingFacts", "Marks", "Purpose", "Status")
}
INFLUENCES = {
    "analysis.influences.evidence": ("Evidence", "Rests", "Slope"),
    "analysis.influences.factor_tests": ("FactorTest",),
    "analysis.influences.factors": ("Covariate", "Factor"),
    "analysis.influences.foretold": ("Foretold",),
    "analysis.influences.moves": ("Claims",),
    "analysis.influences.pls_map": ("Map", "Place"),
    "analysis.influences.result": ("Effect", "Influences", "NoteInfluences"),
    "analysis.influences.note_model": ("Likeliest",),
    "analysis.influences.searched": ("Searched",),
    "analysis.influences.separate": ("Inseparable", "Separation"),
    "analysis.influences.shape": ("Shape",),
    "analysis.influences.terms": ("Way",),
}
AGEING = {"analysis.ageing.result": ("Ageing", "Curve", "Mark", "Point", "Reading", "Window")}
AGREEMENT = {
    "analysis.agreement.indices.incomplete": ("RankTest",),
    "analysis.agreement.one_session.blanks": ("LowBlanks",),
    "analysis.agreement.one_session.camps": ("Camps",),
    "analysis.agreement.one_session.figure_values": (
        *("Friedman", "OrderFigures", "RepeatFigures", "SampleEffect", "SampleMean"),
        *("ScalingFigures", "Variance"),
    ),
    "analysis.agreement.one_session.habits": ("Habits",),
    "analysis.agreement.one_session.result": (
        *("Agreement", "AssessorAgreement", "AssessorNote", "DescriptorAgreement"),
        *("PrivateFact", "Unjudged", "WhyNot"),
    ),
    "analysis.agreement.one_session.small_panel": ("SmallPanel",),
    "analysis.agreement.one_session.swap_check": ("ChangedNote", "SwapCheck"),
    "analysis.agreement.one_session.swaps": ("Exchange", "Swap"),
    "analysis.agreement.one_session.waiting": ("Waiting", "WaitingNote"),
    "analysis.agreement.one_session.with_panel": ("WithPanel",),
    "analysis.agreement.sessions.drift_result": ("Drift", "DriftPoint", "DriftSize", "DriftStart"),
    "analysis.agreement.sessions.span_result": (
        *("BeforeSpan", "Span", "SpanAssessor", "SpanDescriptor", "SpanNote", "SpanSession"),
    ),
    "analysis.agreement.verdict.serving": ("OrderSaid", "Served"),
    "analysis.agreement.verdict.words": ("AssessorWord", "PanelWord", "Verdict"),
}
MATCH = {"analysis.target.result": ("CaskMatch", "LeftOut", "Match")}
VAT = {
    "analysis.vatting.chance": ("Expectation", "Line"),
    "analysis.vatting.limits": (
        *("Basis", "Drawing", "GaugeRule", "LimitKey", "LimitKind", "Limits", "Share"),
    ),
    "analysis.vatting.mixture": ("Mixture", "PlanPart"),
    "analysis.vatting.pour": ("Poured", "ShareReached"),
    "analysis.vatting.prices": ("Price",),
    "analysis.vatting.reach": ("Reach", "ReachedLine"),
    "analysis.vatting.result": ("NoVatting", "PricedLimit", "SaidStandIn", "VattingPlan"),
    "analysis.vatting.stand_ins": ("StandIn",),
    "analysis.vatting.tighten": ("Round",),
    "panel.questions.vatting": ("VatAnswer",),
    "panel.store.rules": ("Rule",),
}
STOCK_PLAN = {
    "analysis.stock_plan.result": (
        *("CaskPrice", "DrawnInYear", "Ended", "HadElsewhere", "InTheWay", "Mend"),
        *("MendKind", "Prices"),
        *("ReleaseAlone", "ReleasePlan", "StaysThere", "StockPlan", "TogetherNot", "WhyFewer"),
    ),
    "analysis.vatting.eligible": ("Unfit",),
    "panel.questions.plan_changes": ("ReleaseMoved",),
    "panel.questions.stock_plans": ("PlanFound",),
}
NEXT = {
    "analysis.next_glasses.cut": ("Cut",),
    "analysis.next_glasses.result": (
        *("CaskToPour", "Change", "Glass", "Halt", "NextSession", "Question", "Reason", "Stop"),
        *("Unit", "Why"),
    ),
    "analysis.next_glasses.vat_mind": ("PartHangs", "VatMind"),
    "panel.questions.next_session": ("NextAnswer", "SwapPriced", "ToDraw"),
}
REVIEW = {
    "panel.questions.review.matters": ("Lies", "Matter", "Reason"),
    "panel.questions.review.review": ("Alike", "Found"),
}
CLASSES = {
    **PROFILE,
    **STOCK,
    **INFLUENCES,
    **AGEING,
    **AGREEMENT,
    **MATCH,
    **VAT,
    **NEXT,
    **STOCK_PLAN,
    **REVIEW,
}
NAMES = frozenset(f"{module}:{name}" for module, names in CLASSES.items() for name in names)


@cache
def class_named(name: str) -> type:
    """Return a class that may be kept; its module is loaded then.

    Raises
    ------
    KeyError
        None of that name may.
    """
    if name not in NAMES:
        raise KeyError(name)
    module, _, short = name.partition(":")
    found = getattr(import_module(module), short)
    if not isinstance(found, type):
        raise KeyError(name)
    return found


def name_of(kind: type) -> str | None:
    """Return the name under which a class may be kept; None where it may not."""
    name = f"{kind.__module__}:{kind.__qualname__}"
    return name if name in NAMES else None
