"""Where at the desk each command's work is done, so that nobody has to leave it for a shell.

A test walks the commands: one that is neither here nor excused fails it. Pages are named by
module and class, and the key or offer by which the work is begun there by its name.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class AtDesk:
    """A page, and the key or the offer on it; without one the page itself is the answer."""

    module: str
    page: str
    way: str | None = None


@dataclass(frozen=True)
class Excused:
    """Why a command has no place at the desk."""

    why: str


Reached = AtDesk | Excused

REACHED: dict[str, Reached] = {
    "demo": Excused("builds a folder to look at before there is a house"),
    "desk": Excused("is the desk"),
    "booth": Excused("is another room: the lead's screens and a booth never share a terminal"),
    "schema": Excused("is for scripts, which read what commands print as JSON"),
    "db booth-role": Excused("is for whoever keeps the server, who is not at the desk"),
    "db upgrade": Excused("is asked for before the desk can open"),
    "session plan": AtDesk("sessions", "SessionsPage", "sessions.new"),
    "session next": AtDesk("sessions", "SessionsPage", "sessions.next"),
    "session power": AtDesk("sessions", "SessionsPage", "sessions.power"),
    "session drop": AtDesk("session_page", "SessionPage", "session.drop"),
    "session list": AtDesk("sessions", "SessionsPage"),
    "session show": AtDesk("session_page", "SessionPage"),
    "session seal": AtDesk("session_page", "SessionPage", "session.seal"),
    "session seats": AtDesk("session_page", "SessionPage", "session.seats"),
    "session sheets": AtDesk("session_page", "SessionPage", "session.sheets"),
    "session key": AtDesk("session_page", "SessionPage", "session.key_in"),
    "session pack": AtDesk("session_page", "SessionPage", "session.pack"),
    "session unpack": AtDesk("first_hour", "FirstHourPage", "first.pack"),
    "session return": AtDesk("session_page", "SessionPage", "session.give_back"),
    "session join": AtDesk("sessions", "SessionsPage", "sessions.join"),
    "session away": AtDesk("session_page", "SessionPage", "session.away"),
    "session recall": AtDesk("session_page", "SessionPage", "session.recall"),
    "session open": AtDesk("session_page", "SessionPage", "session.open"),
    "serve": AtDesk("session_page", "SessionPage", "session.serve"),
    "session close": AtDesk("session_page", "SessionPage", "session.close"),
    "session reopen": AtDesk("session_page", "SessionPage", "session.reopen"),
    "session reveal": AtDesk("session_page", "SessionPage", "session.reveal"),
    "session calls": AtDesk("app", "DeskApp", "desk.answer"),
    "session mark": AtDesk("session_page", "SessionPage", "session.mark"),
    "session clear": AtDesk("session_page", "SessionPage", "session.mark"),
    "session words": AtDesk("own_words_page", "OwnWordsPage", "own.confirm"),
    "passing list": AtDesk("planted_page", "PlantedPage"),
    "passing sound": AtDesk("planted_page", "PlantedPage", "planted.sound"),
    "passing spike": AtDesk("planted_page", "PlantedPage", "planted.spike"),
    "passing noses": AtDesk("sessions", "SessionsPage", "sessions.noses"),
    "passing slips": AtDesk("sessions", "SessionsPage", "sessions.slips"),
    "passing lift": AtDesk("passing_page", "PassingPage", "passing.lift"),
    "agreement": AtDesk("sessions", "SessionsPage", "sessions.agreement"),
    "profile": AtDesk("cask_page", "CaskPage", "cask.found"),
    "influences": AtDesk("casks", "CasksPage", "casks.why"),
    "ageing": AtDesk("casks", "CasksPage", "casks.years"),
    "match": AtDesk("target_page", "TargetPage"),
    "target list": AtDesk("targets", "TargetsPage"),
    "target show": AtDesk("target_page", "TargetPage", "target.lines"),
    "target make": AtDesk("cask_page", "CaskPage", "cask.like"),
    "vat": AtDesk("releases", "ReleasesPage", "releases.new"),
    "release list": AtDesk("releases", "ReleasesPage"),
    "release show": AtDesk("release_page", "ReleasePage"),
    "release bench": AtDesk("release_page", "ReleasePage", "release.bench"),
    "release sign": AtDesk("release_page", "ReleasePage", "release.sign"),
    "release bottle": AtDesk("release_page", "ReleasePage", "release.bottle"),
    "release cancel": AtDesk("release_page", "ReleasePage", "release.cancel"),
    "release mixing": AtDesk("releases", "ReleasesPage", "releases.mixing"),
    "stock plan": AtDesk("stock_plan_page", "StockPlanPage"),
    "stock plans": AtDesk("releases", "ReleasesPage", "releases.plans"),
    "stock drop": AtDesk("stock_plan_page", "StockPlanPage", "plan.drop"),
    "release check": AtDesk("release_page", "ReleasePage", "release.check"),
    "release batches": AtDesk("release_page", "ReleasePage", "release.years"),
    "release propose": AtDesk("blend_page", "BlendPage", "blend.keep"),
    "release disgorge": AtDesk("releases", "ReleasesPage", "releases.gave"),
    "report session": AtDesk("agreement_page", "AgreementPage", "agreement.hand_on"),
    "report cask": AtDesk("cask_page", "CaskPage", "cask.hand_on"),
    "report ageing": AtDesk("ageing_page", "AgeingPage", "ageing.hand_on"),
    "report influences": AtDesk("influences_page", "InfluencesPage", "influences.hand_on"),
    "report target": AtDesk("target_page", "TargetPage", "target.hand_on"),
    "report blend": AtDesk("blend_page", "BlendPage", "blend.hand_on"),
    "report panel": AtDesk("span_page", "SpanPage", "span.hand_on"),
    "report release": AtDesk("release_page", "ReleasePage", "release.hand_on"),
    "report tasting": AtDesk("releases", "ReleasesPage", "releases.cards"),
    "release sheet": AtDesk("releases", "ReleasesPage", "releases.sheet"),
    "people list": AtDesk("people", "PeoplePage"),
    "people add": AtDesk("people", "PeoplePage", "people.new"),
    "people pin": AtDesk("person_page", "PersonPage", "person.pin"),
    "people role": AtDesk("person_page", "PersonPage", "person.change"),
    "people leave": AtDesk("person_page", "PersonPage", "person.leave"),
    "people lock": AtDesk("people", "PeoplePage", "people.lock"),
    "people consent": AtDesk("person_page", "PersonPage", "person.consent"),
    "people withdraw": AtDesk("person_page", "PersonPage", "person.withdraw"),
    "people export": AtDesk("person_page", "PersonPage", "person.export"),
    "people erase": AtDesk("person_page", "PersonPage", "person.erase"),
    "training begin": AtDesk("person_page", "PersonPage", "person.training"),
    "training show": AtDesk("person_page", "PersonPage", "person.ready"),
    "training take-in": AtDesk("person_page", "PersonPage", "person.take_in"),
    "training list": AtDesk("people", "PeoplePage", "people.training"),
    "training known": AtDesk("people", "PeoplePage", "people.training"),
    "cask": AtDesk("cask_page", "CaskPage"),
    "stock review": AtDesk("review_page", "ReviewPage"),
    "stock tick": AtDesk("review_page", "ReviewPage", "review.tick"),
    "report stock": AtDesk("review_page", "ReviewPage", "review.hand_on"),
    "bottles list": AtDesk("remarks_page", "RemarksPage"),
    "bottles remark": AtDesk("remarks_page", "RemarksPage", "remarks.new"),
    "bottles trace": AtDesk("lot_page", "LotPage"),
    "bottles keep": AtDesk("lot_page", "LotPage", "lot.keep"),
    "bottles gone": AtDesk("lot_page", "LotPage", "lot.gone"),
    "bottles nose": AtDesk("lot_page", "LotPage", "lot.nose"),
    "bottles safety": AtDesk("remarks_page", "RemarksPage", "remarks.safety"),
    "bottles close": AtDesk("remarks_page", "RemarksPage", "remarks.close"),
    "bottles forget": AtDesk("remarks_page", "RemarksPage", "remarks.forget"),
    "report lot": AtDesk("lot_page", "LotPage", "lot.hand_on"),
    **dict.fromkeys(
        (
            *("strength reduce", "strength marry", "strength at-20", "strength weigh"),
            *("strength read", "strength loss", "strength ullage", "strength until"),
        ),
        AtDesk("casks", "CasksPage", "casks.strength"),
    ),
    "house show": AtDesk("settings_page", "SettingsPage"),
    "house set": AtDesk("settings_page", "SettingsPage", "settings.change"),
    "rules list": AtDesk("rules_page", "RulesPage"),
    "rules show": AtDesk("rules_page", "RulesPage"),
    "rules set": AtDesk("rules_page", "RulesPage", "rules.change"),
    "register tell": AtDesk("register_page", "RegisterPage", "register.tell"),
    "register look": AtDesk("register_page", "RegisterPage", "register.look"),
    "register reverse": AtDesk("register_page", "RegisterPage", "register.reverse"),
    "register session": AtDesk("register_page", "RegisterPage", "register.session"),
    "register carried": AtDesk("register_page", "RegisterPage", "register.carried"),
    "register months": AtDesk("register_page", "RegisterPage", "register.months"),
    "load": AtDesk("house_page", "HousePage", "house.load"),
    "save": AtDesk("house_page", "HousePage", "house.save"),
    "db init": AtDesk("first_hour", "FirstHourPage", "first.house"),
    "db check": AtDesk("house_page", "HousePage", "house.check"),
    "db backup": AtDesk("house_page", "HousePage", "house.backup"),
    "db restore": AtDesk("house_page", "HousePage", "house.restore"),
    "db forget": AtDesk("house_page", "HousePage", "house.forget"),
}
NOT_YET: frozenset[str] = frozenset({})
"""Commands whose work still needs a shell."""
