"""Examples that stand under the help of each command, all in one place; a test reads each."""

from __future__ import annotations

import click

EXAMPLES: dict[str, tuple[str, ...]] = {
    "demo": ("demo", "demo --at my-folder"),
    "desk": ("desk", "desk --start casks"),
    "booth": ("booth", "booth night-12", "booth night-12 --plain"),
    "serve": (
        "serve night-12",
        "serve night-12 --behind https://booths.example",
    ),
    "db init": ("db init --lead Hazel",),
    "db upgrade": ("db upgrade",),
    "db check": ("db check", "db check --fits"),
    "db backup": ("db backup sunday.sqlite",),
    "db restore": ("db restore sunday.sqlite",),
    "db forget": ("db forget",),
    "db booth-role": ("db booth-role booths",),
    "load": (
        "load casks casks.csv --check",
        "load scores night-12.xlsx --create",
        "load lexicon --take-back",
    ),
    "save": ("save casks casks.xlsx", "save draws to-fill-in.xlsx --template"),
    "people add": ("people add Rowan", "people add Sorrel --role lead --role blender"),
    "people list": ("people list",),
    "people pin": ("people pin Rowan", "people pin Rowan --generate"),
    "people role": ("people role Rowan +blender -pourer",),
    "people leave": ("people leave Rowan 2026-11-30",),
    "people lock": ("people lock",),
    "people consent": ("people consent Rowan --text 2026-01 --keep-scores",),
    "people withdraw": ("people withdraw Rowan",),
    "people export": ("people export Rowan",),
    "people erase": ("people erase Rowan --keep-scores",),
    "house show": ("house show",),
    "house set": (
        "house set pour_ml 25",
        "house set time_zone Europe/Lisbon",
        "house set pour_ml --take-back",
    ),
    "session plan": ("session plan Monday --draw SW15-7 --all-assessors --lexicon all",),
    "session next": (
        "session next Lantern",
        "session next Lantern --best 3 --without Rowan --swap SW1604=SW1608",
        "session next --vat Lantern-1 --in-bottles",
        "session next Lantern --at-hand --plan Monday",
    ),
    "session power": (
        "session power",
        "session power --assessors 6 --assessors 9 --difference 8",
    ),
    "session drop": ("session drop Monday",),
    "session list": ("session list",),
    "session show": ("session show Monday", "session show Monday --scores"),
    "session seal": ("session seal Monday",),
    "session seats": ("session seats Monday --absent Rowan --late Hazel",),
    "session sheets": ("session sheets Monday", "session sheets Monday day"),
    "session open": ("session open Monday",),
    "session close": ("session close Monday",),
    "session reopen": ("session reopen Monday --reason 'one glass was left'",),
    "session reveal": ("session reveal Monday",),
    "session calls": ("session calls Monday",),
    "session mark": (
        "session mark Monday Rowan 417 void --note 'knocked over'",
        "session mark Monday Rowan 417 not-safe --note 'smells of cleaner'",
        "session mark Monday Rowan 417 safe-again --note 'a chipped glass; the draw is sound'",
    ),
    "session clear": ("session clear Monday Rowan 417 exchanged --with 538",),
    "session words": ("session words Monday --confirm 'Rowan:old jetty=boat shed'",),
    "agreement": ("agreement night-12", "agreement --since 2026-01-01"),
    "profile": ("profile SW1505", "profile --assessor Rowan"),
    "influences": ("influences", "influences 'hearth smoke' --picture -"),
    "ageing": ("ageing --wood butt", "ageing --cask SW1505 --target Lantern"),
    "match": ("match Lantern", "match Lantern --top 5"),
    "target list": ("target list",),
    "target show": ("target show Lantern",),
    "target make": (
        "target make Ember --like-cask SW1505 --more 'hearth smoke=+10'",
        "target make Ember --take-back",
    ),
    "vat": ("vat Lantern --bottles 600", "vat Lantern --litres 400 --abv 52 --casks 2-6"),
    "release propose": ("release propose Lantern-1 --target Lantern --bottles 600",),
    "release list": ("release list",),
    "release show": ("release show Lantern-1",),
    "release bench": ("release bench Lantern-1 --ml 100",),
    "release disgorge": ("release disgorge Lantern-1 --cask SW1505=171.2@58.4",),
    "release sign": ("release sign Lantern-1 --by Alder",),
    "release bottle": ("release bottle Lantern-1 --bottles 588",),
    "release cancel": ("release cancel Lantern-1 --reason 'the cask leaks'",),
    "release sheet": ("release sheet Lantern-1",),
    "release mixing": ("release mixing",),
    "report tasting": (
        "report tasting Lantern-1 Ember-2 Slack-1",
        "report tasting Lantern-1 Ember-2 Slack-1 --paper",
        "report tasting Lantern-1 Ember-2 Slack-1 --guests guests.csv",
    ),
    "rules list": ("rules list",),
    "rules show": ("rules show",),
    "rules set": ("rules set UK on", "rules set UK --take-back"),
    "register look": ("register look SW15-7 --colour 'pale straw' --clarity bright --by Osier",),
    "register session": ("register session Monday --fate 'poured away'",),
    "register reverse": ("register reverse SW15-7 --because '20 mL were meant' --ml 20",),
    "register months": ("register months", "register months --json"),
    "report session": ("report session Monday", "report session Monday --for lead"),
    "report cask": ("report cask SW1505",),
    "report release": ("report release Lantern-1 --for guest",),
    "report ageing": ("report ageing --make Fenside --target Lantern",),
    "report influences": ("report influences", "report influences 'hearth smoke'"),
    "report target": ("report target Lantern",),
    "report blend": (
        "report blend Lantern --bottles 1200 --age 8",
        "report blend Lantern --litres 300 --take SW1505=209",
    ),
    "report panel": ("report panel --to panel.html",),
    "register tell": ("register tell SW15-7 --fate 'nosed and poured away'",),
    "cask": ("cask", "cask SW1505", "cask SW1505 --scores"),
    "strength reduce": ("strength reduce --litres 190 --from 58.4 --to 46",),
    "strength marry": ("strength marry --part 190@57.1 --part 210@60.3",),
    "strength at-20": ("strength at-20 --litres 190 --abv 58.4 --temperature 12",),
    "strength weigh": ("strength weigh --kg 171.5 --abv 58.4",),
    "strength read": ("strength read --reading 59.1 --temperature 17.5",),
    "strength loss": ("strength loss --start 200@63.5 --end 182@60.1 --years 8",),
    "strength ullage": ("strength ullage --size 250 --litres 190",),
    "strength until": ("strength until --start-abv 63.5 --end-abv 60.1 --years 8",),
    "schema": ("schema vat", "schema session show"),
}
"""By the words of a command, each as it is typed after `oakpanel`."""


def add_examples(command: click.Command, *words: str) -> click.Command:
    """Put the examples under the help of a command, and of each below it."""
    if isinstance(command, click.Group):
        for name, below in command.commands.items():
            add_examples(below, *words, name)
    elif found := EXAMPLES.get(" ".join(words)):
        lines = "\n".join(f"  oakpanel {example}" for example in found)
        command.epilog = f"\b\n{'Examples' if len(found) > 1 else 'Example'}:\n{lines}"
    return command
