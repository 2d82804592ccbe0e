"""Every command that prints JSON, asked of a small house, in an order in which each can answer."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

AS_OF = ("--as-of", "2026-03-14")
DRAWS = [word for n in range(1, 5) for word in ("--draw", f"D-C{n}")]
PLAN = (*DRAWS, "--all-assessors", "--lexicon", "all", "--reference", "R0", "--warm-up", "W0")
LIMITS = ("--litres", "350", "--casks", "2-5", "--old-gauges", "flag")

SMALL = ("--litres", "40", "--casks", "1-5", "--old-gauges", "flag", "--part")
PLANS = """plan,release,year,target,bottles,limits
Years,,,,,draw 300; stay 20
Years,Fen 2026,2026,Fen,20,parts; over 30
Years,Fen 2027,2027,Fen,20,parts; over 30
"""

Ask = Callable[..., Any]
"""Ask one command by its name and its words; `by` says who, `what` tells two documents apart."""


def ask_of_records(ask: Ask, folder: Path) -> None:
    """Files, the database, people, settings and rules."""
    ask("load", "own-scores", str(folder / "own.csv"))
    ask("load", "makes", str(folder / "broken.csv"), code=1)
    ask("save", "casks", str(folder / "casks.csv"))
    ask("db check")
    ask("db upgrade")
    ask("db backup", str(folder / "copy.sqlite"))
    ask("people list")
    ask("people export", "AA", prints_json_anyway=True)
    ask("house show")
    ask("house set", "pause_s", "90")
    ask("house set", "pause_s", "--take-back", what=" taken back")
    ask("house set", "pause_s", "90", what=" once more")
    ask("rules list")
    ask("rules show")
    ask("rules set", "County", "minimum age", "13", "--cites", "Bylaw 7")
    ask("cask", what="s")
    ask("cask", "C3")
    ask("cask", "C3", "--scores", what=" of its scores")
    ask("load", "events", str(folder / "moved.csv"), what=" of events")
    ask("cask", "C3", "--take-back", what=" taken back")


def ask_of_a_session(ask: Ask) -> None:
    """One session from its plan to the reveal, and the list of words of another."""
    ask("session plan", "Monday", *PLAN, "--held-on", "2026-03-20")
    ask("session plan", "Sunday", *PLAN, "--held-on", "2026-03-21")
    ask("session drop", "Sunday")
    ask("session show", "Monday")
    ask("session seal", "Monday")
    seats = ask("session show", "Monday", what=" while it is sealed")["progress"]["seats"]
    ask("session seats", "Monday", "--absent", seats[-1]["assessor"], what=" without one")
    ask("session seats", "Monday", "--late", seats[-1]["assessor"])
    ask("session sheets", "Monday")
    ask("session sheets", "Monday", "day", what=" of the day")
    for sheet in ("bottles", "draws", "labels", "mats"):
        ask("session sheets", "Monday", sheet, what=f" of {sheet}")
    ask("session open", "Monday")
    seat = ask("session show", "Monday", what=" while it is open")["progress"]["seats"][0]
    code, one, other = (glass["code"] for glass in seat["glasses"][:3])
    ask("session mark", "Monday", seat["assessor"], code, "re-poured")
    ask("session mark", "Monday", seat["assessor"], code, "--take-back", what=" taken back")
    ask("session mark", "Monday", seat["assessor"], code, "re-poured", what=" once more")
    ask("session mark", "Monday", seat["assessor"], one, "swap-suspected", what=" of a swap")
    ask("session clear", "Monday", seat["assessor"], one, "exchanged", "--with", other)
    ask("session calls", "Monday")
    ask("session close", "Monday")
    ask("session reopen", "Monday", "--reason", "one more glass")
    ask("session close", "Monday")
    ask("session show", "Monday", "--scores", what=" of its scores")
    ask("session reveal", "Monday")
    ask("session list")
    ask("session words", "free")


def ask_of_passing(ask: Ask, pass_casks: Callable[[str, str], None], folder: Path) -> None:
    """What is planted, a parcel that is passed, a hold of it and how it is lifted."""
    ask("passing sound", "D-C1")
    ask(
        "passing spike", "X1", "--fault", "soapy", "--base", "D-C1", "--stock", "A2", "--sheet", "4"
    )
    ask("passing list")
    draws = [word for n in range(2, 5) for word in ("--draw", f"D-C{n}")]
    # A second nose gets ten casks or more, so that it does not know that some were held.
    more = [word for n in (*range(5, 11), "1b") for word in ("--draw", f"D-C{n}")]
    for name, nose, how in (("P1", "AA", draws), ("P2", "BB", ["--again", "P1", *more])):
        asked = ("--passing", "--assessor", nose, "--held-on", "2026-03-22")
        ask("session plan", name, *asked, *how, what=" of passing")
        ask("session seal", name)
        ask("session open", name)
        pass_casks(name, "D-C2" if name == "P1" else "")
        if name == "P2":
            ask("session key", name, str(folder / "one.csv"), str(folder / "two.csv"))
        ask("session close", name)
        ask("session reveal", name, what=" of passing")
        ask("agreement", name, what=" of passing")
        if name == "P1":
            ask("passing slips")
    ask("passing noses")
    ask("passing lift", "C2")


def ask_for_answers(ask: Ask) -> None:
    """What the panel found, and what can be made of it."""
    ask("agreement", "EV1")
    ask("agreement", "EV1", "EV2", what=" over sessions")
    ask("agreement", "EV1", "--note", "AA", what=" for one assessor")
    ask("agreement", "EV1", "--two", "C1", "C2", what=" of two casks")
    ask("agreement", "free", what=" in own words")
    ask("profile", "--private", *AS_OF)
    ask("profile", *AS_OF, what=" without people")
    ask("profile", "--assessor", "AA", *AS_OF, what=" of an assessor")
    ask("influences", *AS_OF)
    ask("ageing", "--target", "Fen", *AS_OF)
    ask("match", "Fen", *AS_OF)
    ask("match", "Fen", "--would-change", *AS_OF, what=" with what would change it")
    ask("vat", "Fen", *LIMITS, "--quick", "--would-change", *AS_OF, what=" with what would change")
    # What a session says hangs on its secret bits: draws are asked for where they surely are.
    ask("session next", "Fen", "--best", "2", "--at-hand", *AS_OF)
    late = ("--best", "2", "--as-of", "2027-06-01")
    ask("session next", "Fen", *late, what=" with draws to be taken")
    ask("session power", "--descriptor", "ember", *AS_OF)
    ask("session power", "--pairs", "--alike-within", "1", what=" of pairs")
    ask("session power", "--ranking", "--products", "3", what=" of a ranking")
    ask("target list")
    ask("target show", "Fen")
    ask("target make", "Marsh", "--like-cask", "C3", "--more", "ember=+99", *AS_OF, by="BL")
    ask("vat", "Fen", *LIMITS, *AS_OF)
    ask("strength at-20", "--litres", "200", "--abv", "60", "--temperature", "10")
    ask("strength marry", "--part", "100@63.5", "--part", "100@50")
    ask("strength reduce", "--litres", "100", "--from", "63.5", "--to", "46")
    ask("strength read", "--reading", "60", "--temperature", "15")
    ask("strength loss", "--start", "200@63.5", "--end", "168@58.2", "--years", "10")
    ask("strength ullage", "--size", "250", "--litres", "212.5")
    ask("strength until", "--start-abv", "50", "--end-abv", "45", "--years", "10")
    ask("strength weigh", "--kg", "180", "--abv", "58")


def ask_of_a_release(ask: Ask, nose_blend: Callable[[str], None]) -> None:
    """One release from its proposal to the sheet, one that is cancelled, and the register."""
    ask("release propose", "Autumn", "--target", "Fen", *LIMITS, by="BL")
    ask("release cancel", "Autumn", "--reason", "no bottles", by="BL")
    parts = ask("release propose", "Spring", "--target", "Fen", *LIMITS, by="BL")["parts"]
    ask("session next", "--vat", "Spring", *AS_OF, what=" of a vatting")
    ask("release bench", "Spring", by="BL")
    ask("register")
    ask("register tell", "Spring-B1", "--fate", "nosed")
    ask("register look", "Spring-B1", "--colour", "amber", "--clarity", "bright", by="LD")
    ask("register reverse", "Spring-B1", "--because", "it was kept", "--fate", "kept sealed")
    ask("register session", "Monday", "--fate", "poured away")
    ask("register months")
    nose_blend("Spring-B1")
    ask("release mixing", by="BL")
    drawn = [w for part in parts for w in ("--cask", f"{part['cask']}={part['litres']}@59.0")]
    ask("release disgorge", "Spring", *drawn, by="BL")
    ask("release sign", "Spring", "--despite", "meant so", by="LD")
    ask("release bottle", "Spring", by="BL")
    ask("release show", "Spring")
    ask("release list")
    ask("release sheet", "Spring")
    like = ("--target", "Fen", *SMALL, "--as-batch", "Spring", "--free-recipe")
    ask("vat", "Fen", *like[2:], *AS_OF, what=" like a batch before")
    ask("release propose", "Summer", *like, by="BL", what=" after a batch")
    ask("release check", "Summer")
    ask("release batches", "Fen", *AS_OF)
    ask_of_the_warehouse(ask)


def ask_of_the_warehouse(ask: Ask) -> None:
    """What needs somebody, and a bottle of what was bottled that came back."""
    ask("cask", "--by", "warehouse", what="s folded")
    review = ask("stock review")
    ask("stock tick", review["lines"][0]["cask"], "--note", "seen to")
    ask("bottles keep", "Spring", "--place", "shelf 2")
    remark = ("--said", "Smells of cork.", "--about", "smell or taste", "--who", "Ostrow")
    ask("bottles remark", "Spring", *remark)
    ask("bottles keep", "Spring", "--place", "post", "--kind", "unopened", what=" from outside")
    ask("bottles trace", "Spring")
    ask("bottles nose", "Spring", "cork")
    ask("bottles gone", "2", "--to", "laboratory")
    ask("bottles forget", "1")
    ask("bottles close", "1", "--outcome", "answered")
    ask("bottles remark", "Spring", "--said", "Glass in it.", "--about", "foreign body", what=" 2")
    ask("bottles safety", "2")
    ask("bottles list")


def ask_of_training(ask: Ask) -> None:
    """Somebody who reads as the panel does, from the first day of training to the last."""
    ask("training begin", "T1", "--on", "2026-02-01")
    ask("training list")
    ask("training known")
    ask("training show", "T1", *AS_OF)
    ask("training take-in", "T1")


def ask_last(ask: Ask, folder: Path) -> None:
    """Plans of the stock; what ends somebody's records, and what puts an older state back."""
    path = folder / "plans.csv"
    path.write_text(PLANS, encoding="utf-8")
    ask("load", "plans", str(path), what=" of plans")
    ask("stock plans")
    ask("stock plan", "Years", *AS_OF)
    ask("stock plan", "Years", "--move", "Fen 2026", "2027", *AS_OF, what=" with a change")
    ask("stock drop", "Years", by="BL")
    ask("people consent", "DD", "--text", "2026-01")
    ask("people withdraw", "DD")
    ask("people erase", "DD", "--yes")
    ask("db forget")
    ask("db restore", str(folder / "copy.sqlite"), "--yes")
