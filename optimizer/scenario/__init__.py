"""What a maker may state, with the reader of the file it is stated in."""

from optimizer.scenario.band import Band, Work
from optimizer.scenario.belt import Belt
from optimizer.scenario.in_hand import BeltInHand, Disc, InHand, Sheave
from optimizer.scenario.listing import ChangedLimit, DefaultUsed
from optimizer.scenario.load import load_scenario
from optimizer.scenario.making import Making, SheetStock
from optimizer.scenario.scenario import Scenario
from optimizer.scenario.schema import scenario_schema
from optimizer.scenario.shop import Motor, Series, Shaft
from optimizer.scenario.side import Side
from optimizer.scenario.stage import BeltStage, Budget, FixedStage, Stage

__all__ = [
    "Band",
    "Belt",
    "BeltInHand",
    "BeltStage",
    "Budget",
    "ChangedLimit",
    "DefaultUsed",
    "Disc",
    "FixedStage",
    "InHand",
    "Making",
    "Motor",
    "Scenario",
    "Series",
    "Shaft",
    "Sheave",
    "SheetStock",
    "Side",
    "Stage",
    "Work",
    "load_scenario",
    "scenario_schema",
]
