"""The sixteen descriptors of Sallow Weir: the house's own words, none of them published."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Note:
    """A descriptor: what is meant, a reference anyone can make from food, the ends of the line."""

    name: str
    meaning: str
    reference: str
    low_words: str
    high_words: str
    ought_to_be_absent: bool = False


NOTES = (
    Note(
        "hearth smoke",
        "cold grate and wood ash, dry, the morning after a fire",
        "1 g lapsang tea in 100 mL hot water, cooled, strained, 5 mL in a lidded glass",
        "not there",
        "fills the room",
    ),
    Note(
        "custard skin",
        "sweet cooked milk with vanilla, the skin of a baked custard",
        "a spoon of cooled baked custard made with one vanilla pod a litre",
        "not there",
        "a whole bowl",
    ),
    Note(
        "plum stone",
        "dark dried fruit close to the stone, prune and sloe, a little almond",
        "three stewed prunes with their stones in 50 mL of their water",
        "not there",
        "stewed thick",
    ),
    Note(
        "orchard skin",
        "fresh apple and pear peel, green to ripe",
        "peel of one apple and one pear, cut the same hour",
        "not there",
        "a full crate",
    ),
    Note(
        "warm flour",
        "dry meal and crust, the mill rather than the oven",
        "20 g barley flour warmed in a dry pan until it smells, cooled",
        "not there",
        "the mill floor",
    ),
    Note(
        "pressed violets",
        "powdery dried flowers from an old book",
        "two violet pastilles crushed in 20 mL water",
        "not there",
        "the whole book",
    ),
    Note(
        "burnt sugar edge",
        "sugar just past brown, bitter-sweet at the rim of the pan",
        "10 g sugar browned dark, dissolved in 50 mL water, cooled",
        "not there",
        "near black",
    ),
    Note(
        "walnut skin",
        "the brown skin of a walnut, drying and a little oily",
        "six walnut halves broken in a lidded glass",
        "not there",
        "a full sack",
    ),
    Note(
        "pencil box",
        "dry scented wood and shavings, school desk",
        "two dried bay leaves and a strip of cinnamon bark, broken dry in a lidded glass",
        "not there",
        "freshly sharpened",
    ),
    Note(
        "wet slate",
        "cool stone after rain, clean, without any sweetness",
        "very hard mineral water, chilled, with three grains of salt in 100 mL",
        "not there",
        "a wet roof",
    ),
    Note(
        "boat shed",
        "tarred rope, salt and old bandage, the heavy side of smoke",
        "one dried seaweed sheet torn up with a pinch of smoked salt, lidded",
        "not there",
        "shut in with it",
    ),
    Note(
        "lamp wick",
        "wax and clean oil, a candle just put out",
        "5 g honeycomb warmed in the hand, in a lidded glass",
        "not there",
        "a row of lamps",
    ),
    Note(
        "struck match",
        "the first second of a match, boiled egg behind it",
        "one egg boiled 15 minutes, halved, in a lidded glass",
        "not there",
        "a whole box",
        ought_to_be_absent=True,
    ),
    Note(
        "damp cellar",
        "must, wet cardboard, a room that is never aired",
        "an unpeeled beetroot and a raw mushroom, sliced, lidded for an hour",
        "not there",
        "the lowest vault",
        ought_to_be_absent=True,
    ),
    Note(
        "pepper husk",
        "dry spice, pepper and clove without heat",
        "five peppercorns and one clove, cracked",
        "not there",
        "a spice drawer",
    ),
    Note(
        "orange pith",
        "the white of an orange peel, bitter and bright",
        "the white peel of half an orange, cut the same hour",
        "not there",
        "peeled all day",
    ),
)
NAMES = tuple(note.name for note in NOTES)
CORE = NAMES[:7]
"""On every score sheet: the lines of the release target."""
TURNS = NAMES[7:]
"""Three of these a session, in turns."""
