"""What the plots of a case series and of repeated readings say, recomputed with statsmodels and SciPy: shares with Wilson's
and differences with Newcombe's intervals, mean errors with t intervals, cumulative sums and the bodies at which they first
signal, bias and limits of agreement. Arguments: the command line, a case to make others of, a folder to work in, how many
series (200 where nothing is said). Prints what differs and ends with 1.

The cumulative sums are written down here a second time from their papers (Williams 1992 and Steiner et al. 2000, from
memory), by vectors instead of one outcome after the other; all intervals are the packages' own.
"""

import copy
import csv
import json
import pathlib
import re
import subprocess
import sys

import numpy as np
from scipy import stats
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint
from statsmodels.stats.weightstats import DescrStatsW

CLI, CASE, WORK = sys.argv[1], pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3])
COUNT = int(sys.argv[4]) if len(sys.argv) > 4 else 200
RULES = ("depth", "height", "midline")
WAYS = ("undecided_as_in", "undecided_as_out", "undecided_by_probability")
SPOKEN = ("undecided as hits", "undecided as misses", "by probability")
random = np.random.default_rng(20261129)
wrong, compared = [], 0


def run(*arguments):
    made = subprocess.run([CLI, *map(str, arguments)], capture_output=True, text=True, check=False)
    if made.returncode not in (0, 1):
        sys.exit(f"{' '.join(map(str, arguments))}: {made.stderr}")
    return made.stdout


def same(what, found, expected):
    """Both are numbers, lists of them, or None; they agree to a billionth."""
    global compared
    compared += 1
    if found is None or expected is None:
        equal = found is expected
    else:
        found, expected = np.asarray(found, float), np.asarray(expected, float)
        equal = found.shape == expected.shape and np.allclose(found, expected, rtol=1e-9, atol=1e-9)
    if not equal:
        wrong.append(f"{what}: {found} instead of {expected}")


# --- a series -------------------------------------------------------------------------------------------------------

def moved(shot, by):
    shot = copy.deepcopy(shot)
    tip = shot["marks"]["tip"]
    nested = isinstance(tip[0], list)
    point = tip[0] if nested else tip
    point = [point[0] + by[0], point[1] + by[1]]
    shot["marks"]["tip"] = [point] if nested else point
    return shot


def series(folder):
    """Some dozens of bodies whose tips lie here and there, some of them without an AP, a date or an operator."""
    whole = json.loads(CASE.read_text())
    shots = {shot["id"]: shot for shot in whole["shots"]}
    lateral, ap = shots["l4-right-lateral-final"], shots["l4-right-ap-final"]
    spread = random.uniform(4.0, 30.0)
    for number in range(int(random.integers(1, 36))):
        by = random.normal(0.0, spread, 2)
        pair = [moved(lateral, by), moved(ap, (random.normal(0.0, spread), by[1]))]
        if random.random() < 0.08:
            pair = pair[:1]
        for shot in pair:
            shot["level"] = str(random.choice(["L3", "L4", "L5"])) if shot is pair[0] else pair[0]["level"]
        case = {key: value for key, value in whole.items() if key not in ("shots", "discs", "bodies", "plan")}
        case["shots"], case["title"] = pair, f"Series {number}"
        day = f"{random.integers(2024, 2027)}-{random.integers(1, 13):02}-{random.integers(1, 29):02}"
        case["date"] = day if random.random() < 0.9 else None
        case["operator"] = str(random.choice(["R1", "R2", "R3"])) if random.random() < 0.9 else None
        case = {key: value for key, value in case.items() if value is not None}
        (folder / f"{number:03}.case.json").write_text(json.dumps(case))


def half_year(body):
    return f"{body['date'][:4]} H{1 if int(body['date'][5:7]) <= 6 else 2}" if body["date"] else ""


GROUPS = {
    "level": lambda body: body["level"],
    "side": lambda body: body["side"],
    "operator": lambda body: body["operator"],
    "half_year": half_year,
}


def inside(body, way):
    outcome = body["outcome"]
    if outcome["state"] in ("inside", "outside"):
        return float(outcome["state"] == "inside")
    return {"undecided_as_in": 1.0, "undecided_as_out": 0.0}.get(way, outcome["p_inside"])


def interval(estimate):
    return [estimate["value"], estimate["low"], estimate["high"]]


def shares(name, found):
    judged = [body for body in found["bodies"] if body["outcome"]]
    for share in found["shares"]:
        own = [body for body in judged if share["by"] == "all" or GROUPS[share["by"]](body) == share["group"]]
        what = f"{name}: share {share['by']} {share['group']}"
        same(f"{what} n", share["n"], len(own))
        for way in WAYS:
            hits = min(sum(inside(body, way) for body in own), len(own))
            low, high = proportion_confint(hits, len(own), method="wilson")
            same(f"{what} {way}", interval(share[way]), [hits / len(own), low, high])
    for one in found["differences"]:
        of = GROUPS[one["by"]]
        first = [body for body in judged if of(body) == one["first"]]
        others = [body for body in judged if of(body) != one["first"]]
        second = others if one["second"] == "all others" else [body for body in judged if of(body) == one["second"]]
        for way in WAYS:
            counts = [(min(sum(inside(body, way) for body in group), len(group)), len(group)) for group in (first, second)]
            (x1, n1), (x2, n2) = counts
            low, high = confint_proportions_2indep(x1, n1, x2, n2, method="newcomb", compare="diff")
            same(f"{name}: {one['first']} minus {one['second']} {way}", interval(one[way]), [x1 / n1 - x2 / n2, low, high])


def errors(name, found):
    for one in found["tip_error"]:
        off = []
        for body in found["bodies"]:
            if one["group"] not in ("all", half_year(body)):
                continue
            aim = [verdict["aim"] for verdict in body["verdicts"] if verdict["rule"] == one["rule"]]
            value = body["true_view"][one["rule"]] or body[one["rule"]]
            if aim and value:
                off.append(value["value"] - aim[0])
        what = f"{name}: error {one['group']} {one['rule']}"
        same(f"{what} n", one["n"], len(off))
        described = DescrStatsW(off, ddof=0)
        same(f"{what} mean", one["mean"], described.mean)
        if len(off) > 1:
            same(f"{what} interval", [one["low"], one["high"]], described.tconfint_mean())
            same(f"{what} SD", one["sd"], stats.tstd(off))
        else:
            same(f"{what} interval", one["low"], None)


def reflected(steps):
    """The sum that never falls below zero, as the free sum above its own running least value (Lindley's identity)."""
    free = np.concatenate([[0.0], np.cumsum(steps)])
    return (free - np.minimum.accumulate(free))[1:]


def sums(name, found, spoken):
    cusum = found["cusum"]
    if not cusum["order"]:
        return
    dated = [(not body["date"], body["date"], at) for at, body in enumerate(found["bodies"]) if body["outcome"]]
    order = [at for *_, at in sorted(dated)]
    same(f"{name}: order", cusum["order"], order)
    p0, p1, alpha, beta = (cusum[key] for key in ("acceptable", "unacceptable", "alpha", "beta"))
    p, q = np.log(p1 / p0), np.log((1 - p0) / (1 - p1))
    s, upper, lower = q / (p + q), np.log((1 - beta) / alpha) / (p + q), -np.log((1 - alpha) / beta) / (p + q)
    same(f"{name}: limits", [cusum["s"], cusum["upper_limit"], cusum["lower_limit"]], [s, upper, lower])
    same(f"{name}: threshold", cusum["threshold"], np.log((1 - beta) / alpha))
    for way, words in zip(WAYS, SPOKEN):
        failures = np.array([1.0 - inside(found["bodies"][at], way) for at in order])
        # Linear between the weight of a success and that of a failure.
        weights = failures * np.log(p1 / p0) + (1 - failures) * np.log((1 - p1) / (1 - p0))
        free, up, down = np.cumsum(failures - s), reflected(weights), reflected(-weights)
        for key, values in (("sum", free), ("deterioration", up), ("learning", down)):
            same(f"{name}: {key} {way}", cusum[way][key], values)
        signals = {
            "above the upper limit first at body": free >= upper - 1e-12,
            "below the lower limit first at body": free <= lower + 1e-12,
            "signals too many misses first at body": up > cusum["threshold"] + 1e-12,
            "signals an acceptable miss rate first at body": down > cusum["threshold"] + 1e-12,
        }
        line = next((line for line in spoken.splitlines() if line.strip().startswith(f"{words}: sum")), "")
        for said, crossed in signals.items():
            at = re.search(rf"{said} (\d+)", line)
            first = int(np.argmax(crossed)) + 1 if crossed.any() else None
            same(f"{name}: {way} {said}", int(at.group(1)) if at else None, first)


# --- repeated readings ----------------------------------------------------------------------------------------------

def agreement(name, folder):
    n = int(random.integers(2, 40))
    middle, between = random.uniform(20, 60), random.uniform(0.5, 10)
    values = np.round(middle + between * random.normal(size=(n, 1)) + random.normal(size=(n, 2)) * random.uniform(0.2, 4), 3)
    table = folder / "readings.csv"
    with table.open("w", newline="") as out:
        lines = csv.writer(out)
        lines.writerow(["subject", "rater", "value"])
        lines.writerows((f"s{i:02}", rater, values[i, j]) for i in range(n) for j, rater in enumerate(("R1", "R2")))
    found = json.loads(run("repeat", table, "--json"))
    difference = values[:, 0] - values[:, 1]
    described = DescrStatsW(difference, ddof=0)
    sd, z = float(np.std(difference, ddof=1)), stats.norm.ppf(0.975)
    same(f"{name}: bias", interval(found["bias"]), [described.mean, *described.tconfint_mean()])
    k = stats.nct.ppf([0.025, 0.975], n - 1, z * np.sqrt(n)) / np.sqrt(n)
    limits = found["limits_of_agreement"]
    for end, way in (("upper", 1.0), ("lower", -1.0)):
        ends = sorted(described.mean + way * k * sd)
        expected = [described.mean + way * z * sd, *ends]
        got = interval(limits[end])
        same(f"{name}: {end} limit", got[0], expected[0])
        # The noncentral t of SciPy is good to some seven digits.
        if not np.allclose(got, expected, rtol=1e-6, atol=1e-6 * sd):
            wrong.append(f"{name}: {end} limit's interval {got} instead of {expected}")


def main():
    bodies = 0
    for number in range(COUNT):
        name = f"series {number}"
        folder = WORK / f"series-{number}"
        folder.mkdir(parents=True)
        series(folder)
        found = json.loads(run("series", folder, "--json", "--fresh"))
        bodies += len(found["bodies"])
        shares(name, found)
        errors(name, found)
        sums(name, found, run("series", folder, "--fresh"))
        agreement(name, folder)
    for line in wrong[:20]:
        print(line)
    print(f"{COUNT} series of {bodies} bodies and as many tables: {compared} values compared, {len(wrong)} differ")
    if COUNT == 0 or compared < 30 * COUNT:
        sys.exit("too little was compared")
    sys.exit(1 if wrong else 0)


main()
