"""What a job says: the client, what was read where, and the areas to pave."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Literal

from basecalc.base.frost import FrostSoil
from basecalc.base.frost_depth import Climate
from basecalc.brief import brief
from basecalc.ground.classes import Strength
from basecalc.ground.log.record import Design
from basecalc.ground.pavement import Pavement
from basecalc.ground.readings import Reading


@dataclass(frozen=True, slots=True)
class Spot:
    """One place where the ground was read.

    Parameters
    ----------
    name
        What the sketch calls it.
    area
        Name of the area it stands for.
    readings
        Everything read there; each drop of a cone log is one of them.
    log
        The log driven there, as the job file names it; the file of the job where its rows stand there; or nothing.
    drops
        Its drops with their layers and the layer that each is designed for.
    log_notes
        What was assumed for the whole log, a sentence each.
    log_text
        What stands in the log's file, so that it can be read again without it.
    base_bottom_m
        How deep below the start of the log the bottom of the base will lie [m]; None where nobody said.
    """

    name: str
    area: str
    readings: tuple[Reading, ...]
    log: str = ""
    drops: tuple[Design, ...] = ()
    log_notes: tuple[str, ...] = ()
    log_text: str = field(default="", repr=False)
    base_bottom_m: float | None = None


@dataclass(frozen=True, slots=True)
class LooseFill:
    """Loose fill below an area, and what is done with it.

    Parameters
    ----------
    depth_m
        How deep sound ground lies below the surface of today [m].
    way
        ``stone``: it stays, under a base deep enough for it; ``fill``: it is dug out and replaced by granular fill.
    sound
        Strength of the sound ground; None for that of the area it is a strip of.
    offered
        Whether the client sees the other way as an option.
    """

    depth_m: float
    way: Literal["stone", "fill"] = "stone"
    sound: Strength | None = None
    offered: bool = False


@dataclass(frozen=True, slots=True)
class JobArea:
    """One area to pave, of one strength and one depth.

    Parameters
    ----------
    name
        What the quote calls it.
    shape
        ``rectangle``, ``triangle``, ``trapezoid``, ``circle``, ``polygon`` or ``measured``.
    area_m2, perimeter_m
        Finished plan area [m2] and the length around it [m], None where nobody measured it.
    open_edge_m
        The part of the perimeter beyond which the base is carried on [m].
    corners
        Outside corners less inside corners along the open edge, each counted by how far it turns.
    extent_m
        Length and width of the box a roll must cover [m].
    finish_above_ground_m
        How far the finished surface stands above the ground [m]; negative below it.
    soil
        What is dug there.
    old_pavement_m, old_pavement_kind
        Thickness [m] of a pavement to break out, 0 where there is none; and its kind.
    keep_old_base
        Whether the old base is to stay where test holes allow it; asked, never assumed.
    foundation_edge_m
        Length along a building [m].
    foundation_fill_depth_m, foundation_fill_width_m
        Granular fill to place along it [m].
    edge_restraint_m
        Edge restraint [m].
    geotextile
        Whether a separation geotextile goes under the base.
    strength
        Given by hand instead of spots; None where spots decide.
    note
        For the office and the crew.
    water_table_m
        Depth of the highest water of the year below the ground [m]; None where nobody knows it.
    frost
        What is known of the ground in frost; None where nothing is.
    pavement
        What is known of the old pavement beyond kind and thickness; None where nothing is.
    strip_of
        Name of the area it is the strip along the foundation of; nothing where it is none.
    loose_fill
        Loose fill below it; None where none is known.
    footing_m
        Depth of the bottom of the footing it lies along below the surface of today [m]; None where nobody knows it.
    fall_m
        How far the finished surface falls along the longer side of the area and across it [m], negative where it
        rises; None where nothing is said.
    walked
        Whether the whole area was walked and its softest place tested.
    fill_looked_for
        Whether somebody measured how deep loose fill goes here, or that there is none.
    """

    name: str
    shape: str
    area_m2: float
    perimeter_m: float | None
    open_edge_m: float
    corners: float
    extent_m: tuple[float, float]
    finish_above_ground_m: float = 0.0
    soil: str = "earth"
    old_pavement_m: float = 0.0
    old_pavement_kind: str = ""
    keep_old_base: bool = False
    foundation_edge_m: float = 0.0
    foundation_fill_depth_m: float = 0.0
    foundation_fill_width_m: float = 0.0
    edge_restraint_m: float = 0.0
    geotextile: bool = False
    strength: Strength | None = None
    note: str = ""
    water_table_m: float | None = None
    frost: FrostSoil | None = None
    pavement: Pavement | None = None
    strip_of: str = ""
    loose_fill: LooseFill | None = None
    footing_m: float | None = None
    fall_m: tuple[float, float] | None = None
    walked: bool = False
    fill_looked_for: bool = False


@dataclass(frozen=True, slots=True)
class Job:
    """Everything the site visit and the client decide.

    Parameters
    ----------
    number
        The quote number; it starts the names of the files written.
    client, site, prepared_by, notes
        As printed on the quote.
    date
        Day of the quote, from which its validity counts; None where the file gives none.
    units
        ``us`` or ``metric``: how the job is read and printed.
    traffic
        Name of the traffic level.
    season
        How wet the ground was on the day; readings that say nothing themselves take it.
    new_build
        Whether the plot is freshly built on.
    offer
        Which option the client is offered: ``stone``, ``geogrid`` or ``cheaper``.
    stone, paver, geogrid, geotextile, spoil_truck, stone_truck
        Names of the owner's materials and trucks; nothing for the first on the owner's sheet.
    areas, spots
        What is paved and where the ground was read.
    source_path
        The file it was read from; nothing where there is none.
    climate
        The design winter of the place; None where frost depth is not asked.
    start
        First day of work, from which the days of the stone order count; None where it is not known yet.
    stone_trucks_on_base
        Whether the loaded stone trucks drive on the base, which must then bear them; None where they may wherever it
        does so anyhow.
    entered
        The tables it was read from, as they were given; None where it was not read.
    """

    number: str
    client: str
    site: str
    date: date | None
    prepared_by: str
    units: Literal["us", "metric"]
    traffic: str
    season: str
    new_build: bool
    offer: Literal["stone", "geogrid", "cheaper"]
    stone: str
    paver: str
    geogrid: str
    geotextile: str
    spoil_truck: str
    stone_truck: str
    areas: tuple[JobArea, ...]
    spots: tuple[Spot, ...]
    notes: tuple[str, ...] = ()
    source_path: str = ""
    climate: Climate | None = None
    start: dt.date | None = None
    stone_trucks_on_base: bool | None = None
    entered: Mapping[str, Any] | None = field(default=None, repr=False, compare=False)

    __repr__ = brief

    def spots_of(self, area: str) -> tuple[Spot, ...]:
        """Return the spots that stand for an area."""
        return tuple(spot for spot in self.spots if spot.area == area)
