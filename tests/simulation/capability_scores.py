"""Scores of end-of-log capability (1RM, loads for repetitions) and of side differences."""

import numpy as np
from numpy.typing import NDArray

from tests.simulation.families import log_ratios
from tests.simulation.scores import normal_cdf

Array = NDArray[np.float64]
Columns = dict[str, NDArray[np.str_]]
LEAST_SESSIONS = 6
READ_AT = (8, 10, 12, 15, 20)
PLANNED = (8, 10, 12)


def _numbers(column: NDArray[np.str_]) -> Array:
    return np.where(column == "", "nan", column).astype(float)


def _logs(column: NDArray[np.str_]) -> Array:
    """Of loads; a load of 0 is taken as one gram, so that it costs what it should."""
    result: Array = np.log(np.maximum(_numbers(column), 1e-3))
    return result


def _pairs(
    truth: Columns, given: Columns, keys: tuple[str, ...]
) -> tuple[NDArray[np.int_], NDArray[np.int_]]:
    place = {key: i for i, key in enumerate(zip(*(given[key] for key in keys), strict=True))}
    wanted = list(zip(*(truth[key] for key in keys), strict=True))
    found = [(i, place[key]) for i, key in enumerate(wanted) if key in place]
    return np.array([i for i, _ in found], dtype=int), np.array([j for _, j in found], dtype=int)


def score_capability(truth: Columns, given: Columns) -> dict[str, dict[str, float]]:
    """Error of ln load: bias, root mean square, median; cover of the 80 % interval."""
    i, j = _pairs(truth, given, ("athlete", "exercise", "side"))
    results: dict[str, dict[str, float]] = {}
    enough = _numbers(truth["sessions"])[i] >= LEAST_SESSIONS
    for name in ("one_rm", "load_5", "load_8", "load_10", "load_12", "load_15", "load_20"):
        results[name] = _errors(truth, given, i[enough], j[enough], name)
    results["hits"] = score_hits(truth, given, i[enough], j[enough])
    for column in ("family", "kind", "condition"):
        for value in sorted(set(truth[column])):
            mask = enough & (truth[column][i] == value)
            if mask.any():
                results[f"one_rm, {column} {value}"] = _errors(truth, given, i[mask], j[mask], "one_rm")
    return results


def capability_lines(results: dict[str, dict[str, float]]) -> list[str]:
    """A line a quantity, in per cent of load; then the planned hits."""
    names = ("bias", "rms", "median", "cover80", "cover95_if_normal")
    lines = [f"{'capability':28}{'rows':>8}" + "".join(f"{name[:7]:>8}" for name in names)]
    for label, one in results.items():
        if label == "hits":
            lines.append(
                "planned 8, 10, 12, leaving 1-3:  " + "  ".join(f"{k} {v:.3f}" for k, v in one.items())
            )
        else:
            lines.append(
                f"{label:28}{one['rows']:8.0f}" + "".join(f"{100 * one[name]:8.2f}" for name in names)
            )
    return lines


def _errors(
    truth: Columns, given: Columns, i: NDArray[np.int_], j: NDArray[np.int_], name: str
) -> dict[str, float]:
    true = _logs(truth[name])[i]
    column = "1rm" if name == "one_rm" and "1rm_q50" in given else name
    low, middle, high = (_logs(given[f"{column}_{q}"])[j] for q in ("q10", "q50", "q90"))
    known = np.isfinite(middle)
    error = (middle - true)[known]
    inside = ((true >= low) & (true <= high))[known]
    spread = (high - low)[known] / (2 * 1.281551566)
    return {
        "rows": float(known.sum()),
        "bias": float(error.mean()),
        "rms": float(np.sqrt((error**2).mean())),
        "median": float(np.median(np.abs(error))),
        "cover80": float(inside.mean()),
        "cover95_if_normal": float((np.abs(error) <= 1.96 * spread).mean()),
    }


def score_hits(truth: Columns, given: Columns, i: NDArray[np.int_], j: NDArray[np.int_]) -> dict[str, float]:
    """Chance that planned repetitions at the load chosen for them leave 1 to 3, against the load an oracle chooses.

    The load is the one whose median N lies in the middle of what is wanted, read off the medians for 8 to 20.
    """
    medians = np.column_stack([_logs(given[f"load_{n}_q50"])[j] for n in READ_AT])
    true = np.column_stack([_logs(truth[f"load_{n}"])[i] for n in READ_AT])
    usable = np.isfinite(medians).all(axis=1) & np.isfinite(_numbers(truth["u_sd"])[i])
    i, medians, true = i[usable], medians[usable], true[usable]
    u, sd = _logs(truth["one_rm"])[i], _numbers(truth["u_sd"])[i]
    names, endurance = truth["family"][i], _numbers(truth["endurance"])[i]

    def chance(loads: Array, planned: int) -> float:
        edges = [log_ratios(names, np.full(len(i), float(planned + n)), endurance) for n in (1, 4)]
        low, high = ((edge + loads - u) / sd for edge in edges)
        return float(np.mean(normal_cdf(high) - normal_cdf(low)))

    def load_at(loads: Array, n: float) -> Array:
        return np.array([np.interp(n, READ_AT, row) for row in loads])

    ours = [chance(load_at(medians, n + 2.5), n) for n in PLANNED]
    best = [chance(load_at(true, n + 2.5), n) for n in PLANNED]
    figures = {"hits": float(np.mean(ours)), "oracle": float(np.mean(best))}
    figures["ratio"] = figures["hits"] / figures["oracle"]
    return figures


def score_sides(truth: Columns, given: Columns) -> dict[str, float]:
    """Error and cover of t; false calls near 0, calls of 5 % and more."""
    rows = given["exercise"] != ""
    given = {name: column[rows] for name, column in given.items()}
    i, j = _pairs(truth, given, ("athlete", "exercise"))
    enough = _numbers(truth["sessions"])[i] >= LEAST_SESSIONS
    i, j = i[enough], j[enough]
    true, t = _numbers(truth["t"])[i], _numbers(given["t"])[j]
    low, high = _numbers(given["q10"])[j], _numbers(given["q90"])[j]
    lowest, highest = _numbers(given["q025"])[j], _numbers(given["q975"])[j]
    called = (lowest > 0) | (highest < 0)
    right = called & (np.sign(t) == np.sign(true))
    free = truth["matches_sides"][i] == "False"
    big = np.abs(true) >= 0.05
    return {
        "rows": float(len(true)),
        "bias": float((t - true).mean()),
        "rms": float(np.sqrt(((t - true) ** 2).mean())),
        "cover80": float(((true >= low) & (true <= high)).mean()),
        "cover95": float(((true >= lowest) & (true <= highest)).mean()),
        "false_call_at_0": _share(called, true == 0),
        "false_call_at_0_unmatched": _share(called, (true == 0) & free),
        "power_at_gap": _share(right, true != 0),
        "power_at_gap_unmatched": _share(right, (true != 0) & free),
        "power_at_5": _share(right, big),
        "power_at_5_unmatched": _share(right, big & free),
        "wrong_sign_calls": float((called & (np.sign(t) != np.sign(true)) & (true != 0)).mean()),
    }


def _share(what: NDArray[np.bool_], of: NDArray[np.bool_]) -> float:
    return float(what[of].mean()) if of.any() else float("nan")
