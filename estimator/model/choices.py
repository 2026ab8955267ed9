"""Enumerations of a job: the trade's own words, each with the label a person reads."""

from __future__ import annotations

from enum import StrEnum

__all__ = [
    "AirReference",
    "Answer",
    "BayDirection",
    "Chemistry",
    "ContingencyBasis",
    "DrainTo",
    "ExtraKind",
    "HoseKind",
    "LineColour",
    "Mount",
    "NozzleType",
    "Pictogram",
    "PriceBasis",
    "PriceRule",
    "Provided",
    "Section",
    "SideName",
    "SignalWord",
    "Wall",
]


class _Labelled(StrEnum):
    @property
    def label(self) -> str:
        """The words a person reads."""
        return self.value.replace("-", " ").capitalize()


class Wall(_Labelled):
    """A wall of the floor; plan north is up."""

    NORTH = "north"
    SOUTH = "south"
    EAST = "east"
    WEST = "west"


class BayDirection(_Labelled):
    """Which way a bay's long side runs on the plan."""

    NORTH_SOUTH = "north-south"
    EAST_WEST = "east-west"


class SideName(_Labelled):
    """A long side of a bay, seen from its south end (or its west end where it runs east-west)."""

    LEFT = "left"
    RIGHT = "right"


class Mount(_Labelled):
    """What the drops of a bay side hang on."""

    BRACKET = "bracket"
    PANEL = "panel"


class HoseKind(_Labelled):
    """The hose from the drop to the gun."""

    COIL = "coil"
    STRAIGHT = "straight"


class LineColour(_Labelled):
    """Colour of the tube of one line: plain names of hues that tube is sold in."""

    BLUE = "blue"
    ORANGE = "orange"
    GREEN = "green"
    VIOLET = "violet"
    RED = "red"
    TEAL = "teal"
    BROWN = "brown"
    PINK = "pink"


class NozzleType(_Labelled):
    """The shape of the spray."""

    FAN = "fan"
    FULL_CONE = "full-cone"
    STREAM = "stream"
    FOAM_TIP = "foaming-tip"
    FOAM_GUN = "foam-gun"
    NONE = "none"

    @property
    def label(self) -> str:
        """The words a person reads."""
        return {
            "foaming-tip": "Foaming tip",
            "foam-gun": "Air-assisted foam gun outlet",
            "none": "None (air)",
        }.get(self.value, self.value.replace("-", " ").capitalize())


class Chemistry(_Labelled):
    """A class of chemistry, from the safety data sheet; decides materials, mixing and cautions."""

    NEUTRAL_DETERGENT = "neutral-detergent"
    STRONG_ALKALI = "strong-alkali"
    MILD_ALKALI = "mild-alkali"
    MINERAL_ACID = "mineral-acid"
    HYDROCHLORIC_ACID = "hydrochloric-acid"
    NITRIC_ACID = "nitric-acid"
    ORGANIC_ACID = "organic-acid"
    FLUORIDE_ACID = "fluoride-acid"
    HYPOCHLORITE = "hypochlorite"
    AMMONIA = "ammonia"
    AMINE = "amine"
    THIOGLYCOLATE = "thioglycolate"
    ALCOHOL = "alcohol"
    GLYCOL_ETHER = "glycol-ether"
    PETROLEUM_SOLVENT = "petroleum-solvent"
    TERPENE = "terpene"
    SILICONE_EMULSION = "silicone-emulsion"
    QUATERNARY = "quaternary"
    PEROXIDE = "peroxide"

    @property
    def label(self) -> str:
        """The words a person reads."""
        return {
            "terpene": "Terpene (d-limonene)",
            "quaternary": "Quaternary ammonium sanitiser",
            "alcohol": "Alcohol (isopropanol)",
            "strong-alkali": "Strong alkali (caustic)",
            "mineral-acid": "Mineral acid (phosphoric, sulphuric)",
            "nitric-acid": "Nitric acid (oxidising)",
            "fluoride-acid": "Fluoride acid (hydrofluoric, bifluoride)",
            "amine": "Amine (ethanolamine)",
            "thioglycolate": "Thioglycolate (iron remover)",
        }.get(self.value, self.value.replace("-", " ").capitalize())


class Answer(_Labelled):
    """What a safety data sheet says to a question; until it is answered the worse case counts."""

    NOT_KNOWN = "not-known"
    YES = "yes"
    NO = "no"


class Reading(_Labelled):
    """Where a figure of the survey comes from."""

    ASSUMED = "assumed"
    TOLD = "told"
    MEASURED = "measured"

    @property
    def label(self) -> str:
        """The words a person reads."""
        return self.value.capitalize()


class DrainTo(_Labelled):
    """Where what runs off the floor of the bays goes."""

    NOT_KNOWN = "not-known"
    SEPARATOR = "separator"
    SANITARY = "sanitary"
    COLLECTED = "collected"
    STORM = "storm"
    GROUND = "ground"

    @property
    def label(self) -> str:
        """The words a person reads."""
        return {
            "separator": "Sanitary sewer through a separator",
            "sanitary": "Sanitary sewer without a separator",
            "collected": "Collected and hauled away",
            "storm": "Storm drain",
            "ground": "Ground or soakaway",
        }.get(self.value, "Not known")


class Provided(_Labelled):
    """Whether a part is there, is quoted, or nobody said so."""

    NOT_STATED = "not-stated"
    THERE = "there"
    QUOTED = "quoted"

    @property
    def label(self) -> str:
        """The words a person reads."""
        return {"there": "There already", "quoted": "Part of this quote"}.get(self.value, "Not stated")


class Pictogram(_Labelled):
    """A hazard pictogram of the GHS: the nine there are."""

    EXPLODING_BOMB = "exploding-bomb"
    FLAME = "flame"
    FLAME_OVER_CIRCLE = "flame-over-circle"
    GAS_CYLINDER = "gas-cylinder"
    CORROSION = "corrosion"
    SKULL_AND_CROSSBONES = "skull-and-crossbones"
    EXCLAMATION_MARK = "exclamation-mark"
    HEALTH_HAZARD = "health-hazard"
    ENVIRONMENT = "environment"


class SignalWord(_Labelled):
    """The signal word of a GHS label."""

    DANGER = "danger"
    WARNING = "warning"
    NONE = "none"


class AirReference(_Labelled):
    """Reference conditions that a free air figure is stated at."""

    ANR = "anr"
    SCFM_60F = "scfm-60f"
    SCFM_68F = "scfm-68f"
    NORMAL = "normal"

    @property
    def label(self) -> str:
        """What the conditions are called; `shown.air_words` says them in figures."""
        return {
            "anr": "ANR, ISO 8778",
            "scfm-60f": "Standard air, 60 °F",
            "scfm-68f": "Standard air, 68 °F",
            "normal": "Normal, DIN 1343",
        }[self.value]


class PriceRule(_Labelled):
    """How a price is made from a cost. Markup is a share of cost, margin a share of price."""

    MARKUP = "markup"
    MARGIN = "margin"

    @property
    def label(self) -> str:
        """The words a person reads."""
        return {"markup": "Markup on cost", "margin": "Margin on price"}[self.value]


class Section(StrEnum):
    """Sections of the quote, in printing order; the value is what is printed."""

    PLANT = "Plant and board"
    LINES = "Lines"
    DROPS = "Drops, guns and nozzles"
    MOUNTING = "Mounting"
    SERVICE = "Commissioning and service"
    EXTRAS = "Freight, travel and fees"

    @property
    def label(self) -> str:
        """The words a person reads."""
        return self.value


class PriceBasis(_Labelled):
    """What cost the firm price is made from."""

    LIKELY = "likely"
    CONFIDENCE = "confidence"
    TYPED = "typed"

    @property
    def label(self) -> str:
        """The words a person reads."""
        return {
            "likely": "Likely cost",
            "confidence": "Cost at a confidence",
            "typed": "Price typed by hand",
        }[self.value]


class ContingencyBasis(_Labelled):
    """How the contingency is found."""

    PERCENT = "percent"
    CONFIDENCE = "confidence"

    @property
    def label(self) -> str:
        """The words a person reads."""
        return {"percent": "Percent of the rows", "confidence": "Gap to a confidence"}[self.value]


class ExtraKind(_Labelled):
    """A cost of the job that is no part of the system."""

    FREIGHT = "freight"
    TRAVEL = "travel"
    PERMITS = "permits"
    DISPOSAL = "disposal"
    OTHER = "other"
