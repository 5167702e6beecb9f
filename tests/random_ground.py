"""Random jobs whose ground was read, with all that moves a depth: tests, seasons, water, frost, old pavements."""

from random import Random
from typing import Any

from test_random_jobs import job_data

WORDS = {
    "shovel": ("easy", "moderate", "hard", "pick"), "rod": ("moderate", "hard"),
    "thumb": ("thumb deep", "thumb moderate", "thumb great effort", "thumbnail easy"),
}  # fmt: skip


def read_job(rng: Random, number: int) -> dict[str, Any]:
    """Return a random job in which some areas were read, and some have water, frost or a sunk old pavement."""
    data = job_data(rng, number)
    job, metric = data["job"], data["job"]["units"] == "metric"
    job["season"] = rng.choice(("", "dry", "moist", "wet"))
    job["walked"] = rng.random() < 0.5
    if rng.random() < 0.2:
        job["climate"] = {"freezing_index": rng.choice((0, 500)), "mean_annual_temperature": 48 if not metric else 9,
                          "freezing_season": 90}  # fmt: skip
    spots: list[dict[str, Any]] = []
    for area in data["area"]:
        fine = area.get("soil", job["soil"]) in ("clay", "earth", "silt", "loam")
        if area.get("foundation_strip") and rng.random() < 0.6:
            del area["foundation_strip_strength"]
            if rng.random() < 0.6:
                spots += _spots(rng, f"{area['name']} at the foundation", fine=fine, metric=metric)
        if rng.random() < 0.75:
            del area["strength"]
            if rng.random() < 0.3:
                area["walked"] = rng.random() < 0.5
            spots += _spots(rng, area["name"], fine=fine, metric=metric)
        if rng.random() < 0.25:
            area["water_table"] = rng.choice((12, 30, 50, 90)) * (25 if metric else 1)
        if rng.random() < 0.2:
            area["frost"] = rng.choice(({"group": "F3"}, {"plasticity_index": 9}, {"fines_below_20_microns": 8}))
        if area.get("old_pavement") and area["old_pavement_kind"] != "gravel" and rng.random() < 0.5:
            gap = rng.choice((0.25, 0.75, 1.5))
            area["old_pavement_seen"] = [
                {"what": "rut", "where": rng.choice(("edge", "middle", "foundation")), "gap": gap * (25 if metric else 1),
                 "straightedge": (6 if not metric else 2)}
            ]  # fmt: skip
        if area.get("test_holes") and rng.random() < 0.3:
            area["test_holes"][0]["state"] = "dirty"
    data["spot"] = spots
    return data


def _spots(rng: Random, area: str, *, fine: bool, metric: bool) -> list[dict[str, Any]]:
    made = []
    for place in range(rng.randint(1, 3)):
        readings = []
        for _ in range(rng.randint(1, 3)):
            one = _reading(rng, fine=fine, metric=metric)
            if rng.random() < 0.4:
                one["moisture"] = rng.choice(("dry", "moist", "wet", "frozen"))
            if rng.random() < 0.2:
                one["soil"] = rng.choice(
                    ("clay", "lean clay", "fat clay", "lab-tested fat clay") if fine else ("sand", "gravel")
                )
            readings.append(one)
        made.append({"name": f"{area}, {'ABC'[place]}", "area": area, "readings": readings})
    return made


def _reading(rng: Random, *, fine: bool, metric: bool) -> dict[str, Any]:
    tests = ["stand", "walk", "pickup", "dump truck", "straightedge", "shovel", "rod", "cone", "spt", "cbr"]
    test = rng.choice([*tests, *(("pocket", "vane", "thumb") if fine else ())])
    if test in WORDS and (test != "rod" or rng.random() < 0.4):
        return {"test": test, "reading": rng.choice(WORDS[test])}
    most = {"stand": 2, "walk": 2.9, "pickup": 2, "dump truck": 3, "straightedge": 3, "rod": 30}.get(test)
    if most is not None:
        value = rng.choice((0.0, 0.75, 1.0, 1.5, 2.0, rng.uniform(0, most)))
        return {"test": test, "reading": round(value * 25.4, 1) if metric else round(value, 2)}
    low, high = {"cone": (4, 70), "spt": (3, 40), "cbr": (0.8, 15), "pocket": (0.3, 4), "vane": (0.2, 2)}[test]
    value = rng.uniform(low, high)
    if test in ("pocket", "vane"):
        return {
            "test": test,
            "reading": f"{value * 95.76:.1f} kPa" if rng.random() < 0.5 else round(value * (95.76 if metric else 1), 2),
        }
    return {"test": test, "reading": round(value) if test == "spt" else round(value, 2)}
