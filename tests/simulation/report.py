"""Scores of prediction files against a simulated world's truth: a table on the screen, results.json beside it."""

import csv
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.simulation.capability_scores import capability_lines, score_capability, score_sides
from tests.simulation.families import log_ratios
from tests.simulation.scores import Rows

Array = NDArray[np.float64]
Columns = dict[str, NDArray[np.str_]]
Results = dict[str, Any]

MOST_REPETITIONS = 30.0
QUANTILES = ("q025", "q10", "q50", "q90", "q975")
BANDS = ((0.0, 5.5), (5.5, 10.5), (10.5, 15.5), (15.5, 30.0))


def read_columns(path: Path) -> Columns:
    with path.open(newline="") as stream:
        reader = csv.reader(stream)
        header = next(reader)
        return dict(zip(header, (np.array(column) for column in zip(*reader, strict=True)), strict=True))


def numbers(column: NDArray[np.str_]) -> Array:
    """Blank is nan."""
    return np.where(column == "", "nan", column).astype(float)


def score_directory(
    directory: Path, predictions: Path | None, capability: Path | None, sides: Path | None
) -> Results:
    """Score whichever files are given; without predictions the oracle itself is scored."""
    truth = read_columns(directory / "truth.csv")
    results: Results = {
        "predictions": score_predictions(truth, read_columns(predictions) if predictions else None)
    }
    if capability:
        results["capability"] = score_capability(
            read_columns(directory / "maxima.csv"), read_columns(capability)
        )
    if sides:
        results["sides"] = score_sides(read_columns(directory / "sides.csv"), read_columns(sides))
    (directory / "results.json").write_text(json.dumps(results, indent=1))
    return results


def as_text(results: Results) -> str:
    """A line a group."""
    lines = [
        HEAD,
        *(_line(name, one) for name, one in results["predictions"].items() if isinstance(one, dict)),
    ]
    if "capability" in results:
        lines += ["", *capability_lines(results["capability"])]
    if "sides" in results:
        lines += [
            "",
            "sides  " + "  ".join(f"{name} {value:.3f}" for name, value in results["sides"].items()),
        ]
    return "\n".join(lines)


def score_predictions(truth: Columns, predicted: Columns | None) -> Results:
    """Groups of held-out rows first, then later sets; rows without a prediction are counted, not scored."""
    within = np.column_stack([numbers(truth[f"within_{name}"]) for name in QUANTILES])
    before = np.column_stack([numbers(truth[f"before_{name}"]) for name in QUANTILES])
    if predicted is None:
        mean, quantiles = numbers(truth["before_mean"]), before
    else:
        mean, quantiles = _aligned(truth, predicted)
    light = before[:, 2] > MOST_REPETITIONS
    usable = (truth["scored"] == "True") & ~light
    given = np.isfinite(mean) & np.isfinite(quantiles).all(axis=1)
    data = (mean, quantiles)
    held = _Group(truth, data, "before", before)
    inside = _Group(truth, data, "within", within)
    base = usable & given & (truth["role"] == "work")
    groups = _groups(truth, before[:, 2], base)
    results: Results = {
        "rows": len(mean),
        "unpredicted_held_out": int((usable & ~given & (truth["held_out"] == "True")).sum()),
        "left_out_as_light": int((light & (truth["held_out"] == "True")).sum()),
    }
    for name, mask in groups.items():
        group = inside if name.startswith(("with ", "later", "second")) else held
        results[name] = group.rows.scores(mask)
    results["drop stages"] = inside.rows.scores(usable & given & (truth["role"] == "drop"))
    return results


class _Group:
    def __init__(
        self, truth: Columns, data: tuple[Array, Array], oracle: str, oracle_quantiles: Array
    ) -> None:
        n, endurance = numbers(truth["n"]), numbers(truth["endurance"])
        oracle_mean = numbers(truth[f"{oracle}_mean"])
        mean, quantiles = data

        def load(values: Array) -> Array:
            return log_ratios(truth["family"], np.nan_to_num(values), endurance)

        median = np.maximum(quantiles[:, 2], 0.0)
        self.rows = Rows(
            n,
            mean,
            quantiles,
            oracle_mean,
            oracle_quantiles,
            load(n),
            load(median),
            load(oracle_quantiles[:, 2]),
        )


def _aligned(truth: Columns, predicted: Columns) -> tuple[Array, Array]:
    total = len(truth["row"])
    at = predicted["row"].astype(int)
    mean, quantiles = np.full(total, np.nan), np.full((total, len(QUANTILES)), np.nan)
    mean[at] = numbers(predicted["mean"])
    quantiles[at] = np.column_stack([numbers(predicted[name]) for name in QUANTILES])
    return mean, quantiles


def _groups(truth: Columns, median: Array, base: NDArray[np.bool_]) -> dict[str, NDArray[np.bool_]]:
    held = base & (truth["held_out"] == "True")
    sessions = numbers(truth["sessions_before"])
    plain = (truth["range"] == "") & (truth["pain"] == "") & (truth["remembered"] == "False")
    groups = {
        "held out": held,
        "held out, plain": held & plain,
        "after 1-2": held & (sessions >= 1) & (sessions <= 2),
    }
    groups["after 3-5"] = held & (sessions >= 3) & (sessions <= 5)
    groups["after 12+"] = held & (sessions >= 12)
    groups["first lift, 12+"] = groups["after 12+"] & (numbers(truth["exercise_position"]) == 0)
    later = groups["after 12+"] & (numbers(truth["exercise_position"]) > 0)
    groups["with earlier lifts, 12+"] = later
    late = base & (truth["held_out"] == "False") & (sessions >= 3)
    groups["later sets"] = late
    groups["second side, first set"] = late & (truth["side_position"] == "1") & (truth["set_position"] == "0")
    scored = held & (sessions >= 3)
    for low, high in BANDS:
        groups[f"N {low:g}-{high:g}"] = scored & (median >= low) & (median < high)
    for column in ("family", "kind", "condition", "range"):
        for value in sorted(set(truth[column]) - {""}):
            groups[f"{column} {value}"] = scored & (truth[column] == value)
    groups["pain"] = scored & (truth["pain"] != "")
    groups["remembered loads"] = scored & (truth["remembered"] == "True")
    return groups


HEAD = (
    f"{'group':26}"
    + "".join(
        f"{name:>7}"
        for name in [
            "rows",
            "CRPS",
            "oracle",
            "ratio",
            "RMSE",
            "oracle",
            "bias",
            "load%",
            "oracle",
            "in80",
            "in95",
        ]
    )
    + "\n"
)


def _line(name: str, s: Mapping[str, float]) -> str:
    loads = f"{100 * s['load_error']:7.2f}{100 * s['oracle_load_error']:7.2f}"
    return (
        f"{name:26}{s['rows']:7.0f}{s['crps']:7.3f}{s['oracle_crps']:7.3f}{s['ratio']:7.3f}{s['rmse']:7.2f}"
        f"{s['oracle_rmse']:7.2f}{s['bias']:+7.2f}{loads}{100 * s['cover80']:7.1f}{100 * s['cover95']:7.1f}"
    )
