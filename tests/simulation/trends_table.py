"""The table of how good trends are: `trends.md`."""

import math
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from tests.simulation.constants import DRAWN, PRESETS
from tests.simulation.trends import LATE, Told, score, tell_world


def regenerate(out: Path, athletes: int, seed: int) -> None:
    """Run every world and write the table."""
    worlds = {name: tell_world(athletes, seed, name) for name in (*PRESETS, *DRAWN)}
    for name in PRESETS:
        worlds[f"{name}, training told"] = tell_world(athletes, seed, name, told_training=True)
    worlds["base, planted regressions"] = tell_world(athletes, seed + 1, "base", planted=True)
    out.write_text("\n".join(_document(worlds, athletes, seed)) + "\n")


def _document(worlds: Mapping[str, Sequence[Told]], athletes: int, seed: int) -> list[str]:
    header = (
        "world", "windows", "trends", "RMSE %", "repetitions alike", "changed", "complete logs", "least possible", "informed",
        "of saying no change", "bias %", "in 80 %", "AUC regression",
        "informed", "AUC progress", "really fell %", "called regression % (right)", "progress % (right)", "stall % (right)",
    )  # fmt: skip
    overall, late = (
        100 * score([one for one in worlds["base"] if one.weeks_logged >= since])["informed_rmse"]
        for since in (0, LATE)
    )
    complete = {
        name: 100 * score([one for one in worlds[name] if one.weeks_logged >= LATE])["rmse_complete"]
        for name in ("base", "steady")
    }
    return [
        "# How good trends are, on simulated athletes",
        "",
        f"Regenerate: `python -m tests.simulation trends --athletes {athletes} --seed {seed}` (no database).",
        "",
        "Change over at most eight weeks of the load for the repetitions trained, per lift and side, at windows four weeks",
        "apart, against the simulator's truth. Athletes are told as of unknown training unless said otherwise; 45 % of them",
        "are novices and returners, the latter told as trained. *Early* windows end within the first 14 weeks of a log. Logs",
        "are degraded as practice degrades them.",
        "The constants of *drawn* worlds were drawn at random after the engine's were settled.",
        "With planted regressions a third of the athletes lose 0.75 % a week in the last ten weeks.",
        "Root mean squared errors are split by whether about the same repetitions were trained at both ends of the window.",
        "*Complete logs*: of athletes whose every set was stopped at failure or told its reserve, and none of whose loads was",
        "copied or written from memory. Beside an AUC stands its standard deviation over athletes drawn again.",
        "*Least possible*: for one who knows the curve, the gains, the losses and the tiring of each athlete and sees the",
        "repetitions to failure of every set exactly (`knowing.py`); planted regressions are unknown to them.",
        "*Informed*: for one who is told the world's constants and of each athlete the kind, the family of the curve and what",
        "sets are stopped by, but must learn from the log strength, endurance, gains, losses, tiring and how reserves are",
        "stated, and sees of each set what was said of it (`informed.py`). No reader knows so much beforehand. Reckoned for",
        "working sets without slips, copies taken at their word and loads from memory off alike wherever one is written, so that",
        "it errs low; how much sets differ that are stopped alike is judgement. Planted regressions are unknown to them too.",
        "Beside the AUC stands what",
        "their estimates would reach, changes of one kind of athlete being taken as Gaussian.",
        "",
        "| " + " | ".join(header) + " |",
        "|-" * len(header) + "|",
        *(_row(name, when, part) for name, told in worlds.items() for when, part in _parts(told)),
        "",
        "## Aims, and what falls short",
        "",
        "Aims: RMSE at most 1.6 %, AUC for a real regression at least 0.85.",
        "",
        "- *What can be reached.* About the least that any reader of such logs can reach stands in the column informed. Where",
        "  it is above the aim for RMSE no engine can reach that aim, and so it is not to be reached in all worlds: over all",
        f"  windows of base the informed reader is off by {overall:.2f} %, over late ones by {late:.2f} %. What lies",
        "  between that column and the RMSE is the price of not being told the world: the shape of curves, who is a novice,",
        "  what sets are stopped by; and of what the engine takes for simpler than it is.",
        "- *RMSE.* Strength wanders by 1.7 % over eight weeks and days differ by 3.6 %, which alone leaves 1.1 to 1.7 %. What",
        "  is lost beyond that goes mostly to the curve: where the repetitions trained change within the window, by up to",
        "  fourfold here, what a curve is off by between them cannot be told from a change of strength. The rest goes to",
        "  unreported reserves, and to novices taken for trained or the reverse. Offsets for bands of repetitions were tried:",
        "  they gained in some worlds and lost in others.",
        "- *Complete logs.* Where sets and loads leave nothing out late windows are off by",
        f"  {complete['base']:.2f} % in base and {complete['steady']:.2f} % in steady.",
        "- *Early windows.* How someone reports and where sets stop is learnt while the loads move. The intervals say so: a",
        "  young log adds a doubt. The point estimate is no better than that.",
        "- *Calls.* Regressions are told apart in order but seldom called: at 2 % the noise is as large as the change, and of",
        "  the small ones that are called in worlds without planted ones many are none. A fast fall is followed late.",
        "- *AUC.* Beside it stands what an informed reader would tell apart. In late windows that is above 0.85 everywhere, so",
        "  that the aim is not ruled out where it is not reached. Few changes are real regressions: an AUC of so many athletes",
        "  is known to no more than the deviation beside it.",
    ]


def _parts(told: Sequence[Told]) -> Iterator[tuple[str, list[Told]]]:
    yield "early", [one for one in told if one.weeks_logged < LATE]
    yield "late", [one for one in told if one.weeks_logged >= LATE]


def _row(name: str, when: str, told: Sequence[Told]) -> str:
    s = score(told)
    cells = [
        name, when, f"{s['trends']:.0f}",
        *(_per_cent(s[one]) for one in ("rmse", "rmse_alike", "rmse_other", "rmse_complete", "least_rmse", "informed_rmse")),
        _per_cent(s["no_change_rmse"]),
        f"{100 * s['bias']:+.1f}", f"{100 * s['cover80']:.0f}",
        f"{_plain(s['auc_regression'])} ± {_plain(s['auc_regression_sd'])}", _plain(s["auc_informed"]),
        _plain(s["auc_progress"]),
        f"{100 * s['regressions']:.0f}",
        *(_called(s, one) for one in ("regression", "progress", "stall")),
    ]  # fmt: skip
    return "| " + " | ".join(cells) + " |"


def _called(s: Mapping[str, float], name: str) -> str:
    right = s[f"{name}_right"]
    return f"{100 * s[f'{name}_called']:.1f} ({'-' if math.isnan(right) else f'{100 * right:.0f}'})"


def _per_cent(value: float) -> str:
    return "-" if math.isnan(value) else f"{100 * value:.1f}"


def _plain(value: float) -> str:
    return "-" if math.isnan(value) else f"{value:.2f}"
