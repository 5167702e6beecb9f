"""One invented season: twelve jobs of an invented company, their tickets, hours, invoices and results, from a truth.

Run it:  python examples/season/make_season.py FOLDER [SEED]

The company is that of `basecalc demo`; every name, place, ticket and number is made up. The files beside this script
were made with seed 2026. Each job goes its own way by chance: its stone packs a little more or less, more or less of it
is left over, the crew has a better or a worse week. What is behind all of them is `TRUTH`, and
`basecalc actuals` has to find it again.
"""

import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import ceil
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from basecalc import load_job, load_prices, quote
from basecalc.core.units import INCH_M, convert
from basecalc.demo import write_demo
from basecalc.pricing.records import Quote
from basecalc.takeoff.takeoff import Option, stone_mass_kg, take_off

SEED = 2026
STONE, SAND, FILL = "crushed base, 3/4 in minus", "concrete sand", "clean granular fill"
# What the price workbook would have to say; what it says is behind the mark.
TRUTH: Mapping[tuple[str, str], float] = {
    (STONE, "loose density"): 1.52,  # 1.48 ton/yd3
    (STONE, "compaction factor"): 1.30,  # 1.254
    (STONE, "waste"): 0.08,  # 5 %
    (STONE, "weight bought per volume built"): 1.52 * 1.30 * 1.08,
    (SAND, "weight bought per volume built"): 1.35 * 1.15 * 1.16,  # 1.35 ton/yd3 x 1.15 x 1.05
    ("base-place", "per crew hour"): 8.6,  # 10 yd3
    ("base-place", "per machine hour"): 9.2,  # 10 yd3
    ("paver-lay", "per crew hour"): 81.0,  # 75 ft2
    ("dig", "per crew hour"): 22.0,  # no rate yet, yd3
    ("dig", "per machine hour"): 17.0,  # no rate yet, yd3
}
FILL_BOUGHT = 1.48 * 1.254 * 1.05
# How far one job lies from the truth, as a coefficient of variation.
SCATTER = {"packing": 0.06, "left over": 0.45, "density": 0.03, "sand": 0.10, "hours": 0.14, "loads": 0.08}
PAYLOAD_TON = 14.0
INVOICED = {  # what each supplier bills a job for; on average 3 % more than was estimated
    "Brackwater Block": ("pavers", "edge-restraint", "joint-sand"),
    "Ostmoor Haulage": ("spoil-haul + spoil-tip", "stone-haul"),
    "Saltmarsh Supply": ("geogrid", "geotextile"),
}
DEARER, CREDITED = 1.03, "LF-2615"  # the job that sent a pallet of pavers back


@dataclass(frozen=True)
class Drive:
    """One job of the season: who and where, feet, what the pocket penetrometer read (tsf), and what became of it."""

    number: str
    client: str
    site: str
    length: int
    width: int
    tons: float
    job: tuple[str, ...] = ()
    area: tuple[str, ...] = ()
    result: str = "built"
    built: str = ""
    extra_in: float = 0.0
    reason: str = ""
    change: str = ""
    start: date = date(2026, 4, 27)


def _filled(edge: int, depth: int, width: int) -> tuple[str, ...]:
    return (
        f"foundation_edge = {edge}",
        f"foundation_fill_depth = {depth}",
        f"foundation_fill_width = {width}",
    )


_DRIVES = (
    Drive("LF-2611", "Perpetua Hallowick", "4 Saltmarsh Row, Brackwater", 48, 12, 0.9),
    Drive("LF-2612", "Corin Ashdown-Vale", "17 Tannery Field, Brackwater", 72, 16, 1.4, area=_filled(16, 18, 3)),
    Drive("LF-2613", "Ottoline Greave", "2 Heron Bank, Brackwater", 60, 14, 0.6, extra_in=2),
    Drive("LF-2614", "Jem Underlathe", "88 Kiln Row, Brackwater", 36, 20, 3.1, result="lost", reason="price"),
    Drive("LF-2615", "Isolde Marchbank-Roe", "5 Quarry Rise, Brackwater", 110, 12, 3.6),
    Drive("LF-2616", "Tobias Fenwarden", "29 Rushes Lane, Brackwater", 54, 18, 0.5, area=("geotextile = true",)),
    Drive("LF-2617", "Amabel Stroud-Acre", "1 Mill Leat, Ostmoor", 66, 12, 1.9, area=_filled(12, 24, 4)),
    Drive("LF-2618", "Lysander Pool", "44 Drovers Way, Ostmoor", 80, 14, 1.1, ('traffic = "delivery"',), built="stone"),
    Drive("LF-2619", "Hesper Quillfeather", "12 Drovers Way, Ostmoor", 42, 16, 2.4),
    Drive("LF-2620", "Bram Oxenholme-Tay", "3 Ferry Steps, Brackwater", 90, 16, 0.8, result="lost", reason="asphalt"),
    Drive("LF-2621", "Sabine Thornaby", "61 Saltmarsh Row, Brackwater", 56, 15, 2.9),
    Drive("LF-2622", "Fergus Lowmoor", "7 Mill Leat, Ostmoor", 75, 13, 1.6),
)
DRIVES = tuple(replace(drive, start=drive.start + timedelta(days=14 * place)) for place, drive in enumerate(_DRIVES))


def job_files(folder: Path, drives: Sequence[Drive] = DRIVES) -> list[Path]:
    """Write the job files into a folder and return them."""
    folder.mkdir(parents=True, exist_ok=True)
    made = []
    for drive in drives:
        head = (
            "# Everything here is invented; made by make_season.py.", "[job]", f'number = "{drive.number}"',
            f'client = "{drive.client}"', f'site = "{drive.site}"', f"date = {drive.start - timedelta(days=20)}",
            'prepared_by = "T. Marrow"', 'season = "moist"', 'soil = "clay"', *drive.job,
        )  # fmt: skip
        area = (
            "[[area]]", 'name = "Driveway"', 'shape = "rectangle"', f"length = {drive.length}",
            f"width = {drive.width}", *drive.area,
        )  # fmt: skip
        spot = (
            "[[spot]]", 'name = "middle of the drive"',
            f'readings = [{{ test = "pocket", reading = {drive.tons} }}]',
        )  # fmt: skip
        path = folder / f"{drive.number}.toml"
        path.write_text("\n\n".join("\n".join(lines) for lines in (head, area, spot)) + "\n", "utf-8", newline="\n")
        made.append(path)
    return made


def quotes(jobs: Sequence[Path], prices: Path) -> list[Quote]:
    """Return the quotes of some job files."""
    book = load_prices(prices)
    return [quote(load_job(path), book) for path in jobs]


def records(made: Sequence[Quote], seed: int = SEED, drives: Sequence[Drive] = DRIVES) -> dict[str, str]:
    """Return tickets, hours, invoices and results as text by file name; the same for the same seed."""
    chance, billing = Random(seed), Random(seed + 1)
    tickets = ["date,job,ticket,material,kind,gross ton,tare ton,net ton,volume yd3,truck"]
    hours = ["date,job,work,crew hours,machine hours"]
    results = ["job,result,date,reason,built,price before tax,extra depth in,change signed"]
    invoices = ["date,job,supplier,invoice,what,amount"]
    slip = chance.randrange(20_000, 40_000)
    for drive, one in zip(drives, made, strict=True):
        since = drive.start + timedelta(days=9 if drive.result == "built" else -8)
        results.append(
            f"{drive.number},{drive.result},{since},{drive.reason},{drive.built},,{drive.extra_in or ''},{drive.change}"
        )
        if drive.result != "built":
            continue
        invoices += _invoices(billing, one, drive)
        amounts = _built(one, drive)
        for row in _tickets(chance, drive.number, drive.start, amounts):
            slip += chance.randrange(1, 40)
            tickets.append(row.format(slip=slip))
        hours += _hours(chance, drive.number, drive.start, amounts)
    return {
        name: "\n".join(rows) + "\n"
        for name, rows in (
            ("tickets.csv", tickets),
            ("hours.csv", hours),
            ("invoices.csv", invoices),
            ("results.csv", results),
        )
    }


def _invoices(chance: Random, one: Quote, drive: Drive) -> Iterator[str]:
    """Yield what suppliers billed a job for, an invoice each, and what one of them took back."""
    day = drive.start + timedelta(days=12)
    estimate = one.stone if (drive.built or one.offered) == "stone" else one.geogrid
    lines = () if estimate is None else estimate.lines
    for supplier, parts in INVOICED.items():
        number = chance.randrange(1000, 9999)
        for part in parts:
            planned = sum(float(line.amount) for line in lines if line.quantity_code in part.split(" + "))
            if planned:
                amount = planned * DEARER * chance.uniform(0.94, 1.06)
                yield f"{day},{drive.number},{supplier},{number},{part},{amount:.2f}"
        if drive.number == CREDITED and "pavers" in parts:
            yield f"{day + timedelta(days=6)},{drive.number},{supplier},C{number},pavers,-240.00"


def _built(one: Quote, drive: Drive) -> dict[str, float]:
    """Return what was built, by code, in yd3, ft2 and loads, by the library's own take-off."""
    stone = (drive.built or one.offered) == "stone"
    depths = one.depths if stone else one.geogrid_depths
    option: Option = "stone" if stone else "geogrid"
    made = take_off(one.job, one.book.company, depths, option, drive.extra_in * INCH_M)
    sheet = {stone.code: stone for stone in one.book.company.stones}
    found = {code: made.amount(code) for code in ("dig", "base-place", "paver-lay", "foundation-place")}
    found["spoil-haul"] = float(made.values["job"][0]["spoil_trucks"])  # not rounded
    per_yd3 = convert(stone_mass_kg(1.0, sheet["bedding-sand"]), "kg/m3", "ton/yd3")
    return found | {"bedding": made.amount("bedding-sand") / per_yd3}


def _about(chance: Random, mean: float, what: str) -> float:
    """Return a chance value above zero with this mean and the scatter of its kind."""
    shape = 1 / SCATTER[what] ** 2
    return mean * chance.gammavariate(shape, 1 / shape)


def _tickets(chance: Random, number: str, day: date, amounts: Mapping[str, float]) -> Iterator[str]:
    for load in range(max(round(_about(chance, amounts["spoil-haul"], "loads")), 1)):
        yield f"{day + timedelta(days=load // 8)},{number},{{slip}},spoil,,,,,,dump {chance.randrange(1, 4)}"
    density = TRUTH[STONE, "loose density"]
    placed = _about(chance, amounts["base-place"] * TRUTH[STONE, "compaction factor"] * density, "packing")
    left = _about(chance, placed * TRUTH[STONE, "waste"], "left over")
    for load, net in enumerate(_loads(chance, placed + left)):
        volume = _about(chance, net / density, "density")
        yield _row(chance, day + timedelta(days=2 + load // 6), number, STONE, "delivered", net, f"{volume:.1f}")
    for net in _loads(chance, left) if left > PAYLOAD_TON else [left]:
        yield f'{day + timedelta(days=5)},{number},,"{STONE}",left over,,,{net:.2f},,'
    sand = _about(chance, amounts["bedding"] * TRUTH[SAND, "weight bought per volume built"], "sand")
    for net in _loads(chance, sand):
        yield _row(chance, day + timedelta(days=5), number, SAND, "delivered", net, "")
    if amounts["foundation-place"]:
        for net in _loads(chance, _about(chance, amounts["foundation-place"] * FILL_BOUGHT, "packing")):
            yield _row(chance, day + timedelta(days=4), number, FILL, "delivered", net, "")


def _loads(chance: Random, tons: float) -> Iterator[float]:
    """Yield the net weights of nearly full trucks that add up to a mass, to a hundredth of a ton."""
    count = ceil(tons / (PAYLOAD_TON - 0.4))
    for load in range(count):
        net = tons / (count - load) + (chance.uniform(-0.3, 0.3) if load < count - 1 else 0.0)
        net = round(max(net, 0.05), 2)
        tons -= net
        yield net


def _row(chance: Random, day: date, number: str, material: str, kind: str, net: float, volume: str) -> str:
    tare = round(chance.uniform(12.6, 13.4), 2)
    truck = f"tandem {chance.randrange(1, 5)}"
    weights = f"{tare + net:.2f},{tare:.2f},{net:.2f}"
    return f'{day},{number},{{slip}},"{material}",{kind},{weights},{volume},{truck}'


def _hours(chance: Random, number: str, day: date, amounts: Mapping[str, float]) -> Iterator[str]:
    for offset, work in ((0, "dig"), (2, "base-place"), (6, "paver-lay")):
        spent = []
        for who in ("crew", "machine"):
            rate = TRUTH.get((work, f"per {who} hour"))
            spent.append("" if rate is None else f"{round(_about(chance, amounts[work] / rate, 'hours') * 4) / 4:.2f}")
        yield f"{day + timedelta(days=offset)},{number},{work},{spent[0]},{spent[1]}"


def write_season(folder: Path, seed: int = SEED) -> None:
    """Write job files, tickets, hours and results into a folder."""
    with TemporaryDirectory() as scratch:
        demo = write_demo(Path(scratch) / "demo")
        made = quotes(job_files(folder / "jobs"), demo.prices)
    for name, text in records(made, seed).items():
        (folder / name).write_text(text, "utf-8", newline="\n")


if __name__ == "__main__":
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    write_season(Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else SEED)
    print(f"An invented season: {sys.argv[1]}")
