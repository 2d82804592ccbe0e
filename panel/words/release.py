"""What is said of a release, as lines of text."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any

from analysis.chance_words import chance
from panel.figures import in_digits
from panel.kinds import ReleaseStatus
from panel.words.answers import paragraph
from panel.words.batch_words import batch_lines
from panel.words.benched_words import benched_lines
from panel.words.columns import columns

if TYPE_CHECKING:
    from analysis.vatting import MixingLearned
    from panel.release.bench import BenchBlend
    from panel.release.outcome import Outcome

BENCH_CARE = (
    "Undiluted spirit: flammable, no flame near it. Reduce it to nosing strength as the pour "
    "sheet of the session says, label it, and keep duty-free samples in the register."
)


def release_lines(found: dict[str, Any], width: int = 80, *, traced: bool = True) -> list[str]:
    """Return a release's record as lines, its draws and sessions last where they are *traced*."""
    return [
        *paragraph(standing_words(found), width),
        *(paragraph(f"Why: {found['reason']}", width) if found["reason"] else []),
        "",
        *columns(
            ("cask", "wood", "planned L", "% vol", "gave L", "% vol"),
            [part_cells(part) for part in found["parts"]],
        ),
        *agreed_lines(found["agreed"], width),
        *(line for said in found["since"] for line in paragraph(f"! {said}", width)),
        "",
        *planned_lines(found["planned"], width),
        *found_lines(found["found"], width),
        *benched_lines(found["nosed"], width),
        *batch_lines(found["batch"], width),
        *(traced_lines(found) if traced else ()),
    ]


def agreed_lines(agreed: Iterable[Mapping[str, Any]], width: int = 80) -> list[str]:
    """Return what was agreed to by name, a sentence each."""
    said = [f"! Agreed by name: {each['sentence']}" for each in agreed]
    return [line for sentence in said for line in paragraph(sentence, width)]


def signing_lines(found: dict[str, Any]) -> list[str]:
    """Return what the one who signs ought to see first: what differs, was agreed, and was nosed."""
    differ = [] if found["found"] is None else found["found"]["differences"]
    lines = [line for sentence in differ for line in paragraph(sentence)]
    return [*lines, *agreed_lines(found["agreed"]), *benched_lines(found["nosed"])]


def standing_words(found: dict[str, Any]) -> str:
    """Return at which stage a release is, and how it came there."""
    words = f"Release {found['release']} for target {found['target']}: {found['status']}"
    words += f", proposed by {found['proposed_by']} on {found['planned_on']}"
    if found["disgorged_on"] and not found["cancelled_on"]:
        words += f", disgorged on {found['disgorged_on']}"
        words += "" if found["signed_by"] else " and not signed yet"
    if found["signed_by"]:
        words += f", signed by {found['signed_by']}, lot {found['lot_code']}"
    if found["bottled_on"]:
        words += f", bottled on {found['bottled_on']}: {in_digits(found['bottles'], ',')} bottles"
    if found["cancelled_on"]:
        words += f", cancelled on {found['cancelled_on']} ({found['cancelled_because']})"
    words += "."
    if found["as_signed"] is False:
        words += " NOT AS SIGNED: its figures were changed after the signature."
    if found["signed_by"] and found["as_signed"] is None:
        words += (
            " An erasure emptied what the log kept of its signature: whether all is as signed"
            " cannot be told any more."
        )
    if found["signed_despite"]:
        words += f" Signed despite what stood against it: {found['signed_despite']}."
    return words


_OVER = {
    ReleaseStatus.BOTTLED: "Nothing: it is bottled, and nothing changes any more",
    ReleaseStatus.CANCELLED: "Nothing: it was given up, and its casks are free",
    ReleaseStatus.SIGNED: "Bottle it, and write down how many were filled",
}


def next_of_release(found: Mapping[str, Any]) -> str:
    """Return the step that a release waits for."""
    status = ReleaseStatus(found["status"])
    if status in _OVER:
        return _OVER[status]
    if found["disgorged_on"]:
        reason = ", with a reason for what stands against it" if found["against"] else ""
        return f"A second person signs{reason}"
    if found["nosed"] is not None:
        return "Pour the casks, and write down what each gave"
    if found["bench"]:
        return f"Nose {found['bench'][-1]} blind in a session before the casks are poured"
    return "Mix a bench blend and nose it blind before the casks are poured"


def part_cells(part: dict[str, Any]) -> tuple[str, ...]:
    """Return cask, wood, and the litres and strength planned and given."""
    return (
        *(
            part["cask"],
            part["wood"],
            in_digits(part["litres"], ".1f"),
            _figure(part["abv_percent"], 1),
        ),
        *(_figure(part["given_litres"], 1), _figure(part["given_abv_percent"], 1)),
    )


def _figure(value: float | None, places: int) -> str:
    return "-" if value is None else in_digits(value, f".{places}f")


def planned_lines(planned: dict[str, Any], width: int = 80) -> list[str]:
    """Return what was planned; nothing where nothing is kept of it."""
    if planned.get("bulk_litres") is None:
        return []
    return paragraph(
        f"Planned: {in_digits(planned['bulk_litres'], ',.1f')} L at "
        f"{in_digits(planned['abv_percent'], '.2f')} % vol, water "
        f"{_figure(planned['water_litres'], 1)} L, {_bottles_planned(planned)}, chance of all "
        f"notes within tolerance {chance(planned['probability'])}.",
        width,
    )


def _bottles_planned(planned: dict[str, Any]) -> str:
    """Return how many bottles were planned: both ends where they differ, the lower one is safe."""
    low, high = planned["bottles"], planned["bottles_high"]
    if high is None or low == high:
        return f"{in_digits(low, ',')} bottles"
    return f"{in_digits(low, ',')} to {in_digits(high, ',')} bottles"


def found_lines(found: dict[str, Any] | None, width: int = 80) -> Iterator[str]:
    """Return what the casks came to, and what differs from the plan or breaks a limit."""
    if found is None:
        yield "Not disgorged yet."
        return
    yield from paragraph(
        f"As disgorged: {in_digits(found['bulk_litres'], ',.1f')} L at "
        f"{in_digits(found['abv_percent'], '.2f')} % vol, water "
        f"{_figure(found['water_litres'], 1)} L, {in_digits(found['bottles'], ',')} "
        "bottles, chance of all notes "
        f"within tolerance {chance(found['probability'])}.",
        width,
    )
    for sentence in (*found["differences"], *found["broken"], *found["checks"]):
        yield from paragraph(f"! {sentence}", width)


def traced_lines(found: dict[str, Any]) -> Iterator[str]:
    """Give each draw behind a release, and the session that nosed it."""
    if not found["draws"]:
        return
    yield ""
    rows = [traced_cells(each) for each in found["draws"]]
    yield from columns(("sample", "cask", "drawn", "session", "held"), rows)


def traced_cells(each: Mapping[str, Any]) -> tuple[str, ...]:
    """Return one draw behind a release, and the session that nosed it."""
    return (
        *(each["sample"], each["cask"] or "blend", str(each["drawn_on"] or "-")),
        *(each["session"] or "not nosed", str(each["held_on"] or "-")),
    )


def bench_lines(blend: BenchBlend, width: int = 80) -> list[str]:
    """Return what to pour on the bench."""
    rows = [
        (
            part.cask,
            part.filling,
            in_digits(part.millilitres, ".1f"),
            in_digits(part.abv_percent, ".1f"),
        )
        for part in blend.parts
    ]
    return [
        f"Sample {blend.sample}: pour together, at cask strength",
        "",
        *columns(("cask", "filling", "mL", "% vol"), rows),
        "",
        *paragraph(
            f"Together {in_digits(blend.volume_ml, '.1f')} mL at "
            f"{in_digits(blend.abv_percent, '.2f')} % vol. It is a draw "
            f"like any other: plan a session with {blend.sample} among its glasses, beside the "
            "reference or the last release.",
            width,
        ),
        *paragraph(_bench_chance(blend), width),
        *(line for warning in blend.warnings for line in paragraph(f"! {warning}", width)),
        *paragraph(BENCH_CARE, width),
    ]


def _bench_chance(blend: BenchBlend) -> str:
    if blend.probability is None:
        return f"No chance can be told of what is poured: {blend.probability_reason}"
    said = f"Chance that just this is within the target: {chance(blend.probability)}"
    if blend.planned_probability is not None:
        said += f"; of the release's own litres: {chance(blend.planned_probability)}"
    return f"{said}."


_MEASURED = {
    (True, True): "as measured",
    (False, True): "the strength as measured, the litres by the casks' figures",
    (True, False): "the litres as measured, the strength by the casks' figures: measure it",
    (False, False): "by the casks' figures: measure it",
}
"""How a vat is known, by whether its litres and its strength were measured."""


def outcome_lines(name: str, outcome: Outcome, width: int = 80) -> list[str]:
    """Return what the disgorged casks come to: what differs from the plan first."""
    from panel.words.vat_words import part_lines, profile_columns

    poured = outcome.mixture.poured
    water = outcome.water_litres
    water_words = (
        "no water can be added" if water is None else (f"add {in_digits(water, ',.1f')} L of water")
    )
    measured = _MEASURED[outcome.vat.litres_measured, outcome.vat.measured]
    lines = [f"Release {name} as disgorged"]
    differ = outcome.differences or ("All as planned.",)
    broken = [f"! {each.sentence}" for each in outcome.broken]
    for sentence in (*differ, *broken, *(each.sentence for each in outcome.checks)):
        lines += paragraph(sentence, width)
    return [
        *lines,
        *agreed_lines([{"sentence": each.sentence} for each in outcome.agreed], width),
        "",
        *part_lines(outcome.mixture.parts),
        "",
        *paragraph(
            f"Vat: {in_digits(outcome.vat.litres, ',.1f')} L at "
            f"{in_digits(outcome.vat.abv_percent, '.2f')} % vol, {measured}; "
            f"{water_words}: {in_digits(outcome.final_litres, ',.1f')} L at "
            f"{in_digits(outcome.bottling_abv_percent, '.2f')} "
            f"% vol, {in_digits(outcome.bottles, ',')} bottles. Youngest: "
            f"{poured.age_statement_years} years.",
            width,
        ),
        *_share_words(outcome, width),
        "",
        *profile_columns(outcome.mixture.expectation.lines),
        *paragraph(
            f"All within tolerance together: {chance(outcome.mixture.probability)}. A second "
            "person signs: `oakpanel release sign --by CODE`.",
            width,
        ),
    ]


def _share_words(outcome: Outcome, width: int) -> Iterator[str]:
    for share in outcome.mixture.shares:
        held = "held" if share.held else "NOT held"
        yield from paragraph(
            f"Share {share.share}: {in_digits(100 * share.reached, '.1f')} %, {held}.", width
        )


def mixing_lines(found: MixingLearned, width: int = 80) -> list[str]:
    """Return what bench blends taught, the sentence first."""
    rows = [
        (
            *(
                row["blend"],
                row["descriptor"],
                in_digits(row["predicted"], ".1f"),
                in_digits(row["nosed"], ".1f"),
            ),
            in_digits(row["se"], ".1f"),
        )
        for row in found.blends.to_dict("records")
    ]
    return [
        *paragraph(found.sentence, width),
        "",
        *(line for note in found.notes for line in paragraph(note.sentence, width)),
        "",
        *columns(("blend", "note", "predicted", "nosed", "se"), rows),
    ]
