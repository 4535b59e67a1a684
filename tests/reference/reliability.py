"""Reliability, agreement and proportions of random tables, by pingouin, statsmodels and SciPy: reliability.json.

The library's own formulas are checked against these packages, not against this script: nothing here computes a
result by itself.
"""

import json
import pathlib

import numpy as np
import pandas as pd
import pingouin as pg
from scipy import stats
from statsmodels.stats.anova import AnovaRM
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint
from statsmodels.stats.weightstats import DescrStatsW

for option in list(pg.options):
    pg.options[option] = None
random = np.random.default_rng(20260203)


def table():
    n, k = int(random.integers(3, 16)), int(random.integers(2, 6))
    spread = 10.0 ** random.uniform(-1.5, 1.5, 3)
    values = 50 + spread[0] * random.normal(size=(n, 1)) + spread[1] * random.normal(size=(1, k))
    return np.round(values + spread[2] * random.normal(size=(n, k)), 3)


def reliability(values):
    n, k = values.shape
    long = pd.DataFrame([(i, j, values[i, j]) for i in range(n) for j in range(k)],
                        columns=["subject", "rater", "value"])
    found = pg.intraclass_corr(long, "subject", "rater", "value").set_index("Type")
    names = {"ICC(1,1)": "ICC(1,1)", "ICC(A,1)": "ICC(2,1)", "ICC(C,1)": "ICC(3,1)",
             "ICC(1,k)": "ICC(1,k)", "ICC(A,k)": "ICC(2,k)", "ICC(C,k)": "ICC(3,k)"}
    icc = {names[t]: [float(found.at[t, "ICC"]), *map(float, found.at[t, "CI95"])] for t in found.index}
    repeated = AnovaRM(long, "value", "subject", within=["rater"]).fit().anova_table
    within = float(np.mean([DescrStatsW(row, ddof=1).var for row in values]))
    return {"values": values.tolist(), "icc": icc, "f_raters": float(repeated["F Value"].iloc[0]),
            "within_variance": within}


def agreement(values):
    difference = values[:, 0] - values[:, 1]
    described = DescrStatsW(difference, ddof=0)
    n = len(difference)
    sd = float(np.std(difference, ddof=1))
    z = stats.norm.ppf(0.975)
    # A limit is the 2.5 or 97.5 % quantile of a normal population; its exact interval by the noncentral t.
    k = stats.nct.ppf([0.025, 0.975], n - 1, z * np.sqrt(n)) / np.sqrt(n)
    bias = float(described.mean)
    return {"bias": bias, "sd": sd, "bias_interval": list(map(float, described.tconfint_mean())),
            "upper_limit": bias + z * sd, "lower_limit": bias - z * sd,
            "upper_exact": [bias + k[0] * sd, bias + k[1] * sd],
            "lower_exact": [bias - k[1] * sd, bias - k[0] * sd]}


def proportions():
    out = []
    for _ in range(200):
        n1, n2 = int(random.integers(1, 300)), int(random.integers(1, 300))
        x1, x2 = int(random.integers(0, n1 + 1)), int(random.integers(0, n2 + 1))
        wilson = proportion_confint(x1, n1, method="wilson")
        difference = confint_proportions_2indep(x1, n1, x2, n2, method="newcomb", compare="diff")
        out.append({"x": [x1, x2], "n": [n1, n2], "wilson": list(map(float, wilson)),
                    "newcombe": list(map(float, difference))})
    return out


def quantiles():
    out = []
    for p in (0.025, 0.05, 0.5, 0.95, 0.975, 0.995):
        for d1 in (1, 2, 3.7, 10, 59, 400):
            out.append({"of": "t", "p": p, "d": [d1], "value": float(stats.t.ppf(p, d1))})
            for d2 in (1, 2.4, 5, 18, 120, 2000):
                out.append({"of": "f", "p": p, "d": [d1, d2], "value": float(stats.f.ppf(p, d1, d2))})
    for p in (0.025, 0.975):
        for df in (1, 2, 4, 9, 16, 60, 300):
            delta = float(stats.norm.ppf(0.975) * np.sqrt(df + 1))
            value = float(stats.nct.ppf(p, df, delta))
            out.append({"of": "noncentral t", "p": p, "d": [df, delta], "value": value})
    return out


tables = [table() for _ in range(200)]
whole = {"tables": [{**reliability(t), "agreement": agreement(t)} for t in tables],
         "proportions": proportions(), "quantiles": quantiles()}
# A bound that is no number (JSON knows no NaN) becomes null.
text = json.dumps(whole).replace("NaN", "null")
text = text.replace('{"values"', '\n{"values"').replace('{"x"', '\n{"x"').replace('{"of"', '\n{"of"')
pathlib.Path(__file__).with_name("reliability.json").write_text(text + "\n")
