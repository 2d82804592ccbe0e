"""Trade arithmetic of spirit: density, strength, volume, vatting and losses.

Everything rests on one formula, OIML R 22 (1975), for the density of mixtures of
ethanol and water. Sugar, colour and extract from wood are not in it: on a sweet or
heavily extracted spirit the true strength is a little above the apparent one.

Litres are at 20 °C unless the name says otherwise; strengths are % vol at 20 °C.
Figures for duty follow local law and licensed practice, not this package.
"""

from .convert import (
    abv_from_density,
    abv_from_mass_fraction,
    density_from_abv,
    mass_fraction_from_abv,
    mass_fraction_from_density,
)
from .density import (
    ETHANOL_DENSITY_20_KG_M3,
    WATER_DENSITY_20_KG_M3,
    density_kg_m3,
)
from .gauge import (
    Weighing,
    alcoholometer_strength,
    density_meter_strength,
    litres_at_20,
    weigh_in_air,
)
from .losses import (
    Evaporation,
    Withdrawal,
    evaporation,
    litres_of_pure_alcohol,
    ullage_litres,
    years_until_abv,
)
from .mixing import Bottling, Part, Vatting, bottles_from, vat
from .nosing import NosingWater, nosing_water
from .reduction import Reduction, reduce_strength
from .regauge import Excess, RegaugeCheck, RegaugeFlag, RegaugeLimits, check_regauge

__all__ = [
    "ETHANOL_DENSITY_20_KG_M3",
    "WATER_DENSITY_20_KG_M3",
    "Bottling",
    "Evaporation",
    "Excess",
    "NosingWater",
    "Part",
    "Reduction",
    "RegaugeCheck",
    "RegaugeFlag",
    "RegaugeLimits",
    "Vatting",
    "Weighing",
    "Withdrawal",
    "abv_from_density",
    "abv_from_mass_fraction",
    "alcoholometer_strength",
    "bottles_from",
    "check_regauge",
    "density_from_abv",
    "density_kg_m3",
    "density_meter_strength",
    "evaporation",
    "litres_at_20",
    "litres_of_pure_alcohol",
    "mass_fraction_from_abv",
    "mass_fraction_from_density",
    "nosing_water",
    "reduce_strength",
    "ullage_litres",
    "vat",
    "weigh_in_air",
    "years_until_abv",
]
