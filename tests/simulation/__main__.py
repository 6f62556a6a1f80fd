"""``python -m tests.simulation write|score|table|sides|trends``: simulated logs with their truth, and how good predictions
were."""

import argparse
import sys
from pathlib import Path

from tests.simulation import sided_table
from tests.simulation.baseline import predict
from tests.simulation.constants import PRESETS
from tests.simulation.families import FAMILIES
from tests.simulation.files import write_predictions, write_world
from tests.simulation.report import as_text, score_directory
from tests.simulation.table import regenerate
from tests.simulation.trends_table import regenerate as tell_trends
from tests.simulation.worlds import DIFFICULTIES, simulate


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.simulation", description=__doc__)
    commands = parser.add_subparsers(dest="command", required=True)
    write = commands.add_parser("write", help="write log.csv, truth.csv, maxima.csv, sides.csv")
    write.add_argument("--athletes", type=int, default=100)
    write.add_argument("--seed", type=int, default=1)
    write.add_argument("--constants", default="base", help=f"{', '.join(PRESETS)} or drawn-SEED")
    write.add_argument("--weeks", type=int, help="the same for all; drawn from 12 to 52 when left out")
    write.add_argument(
        "--family", choices=sorted(FAMILIES), help="one true curve for all; drawn when left out"
    )
    write.add_argument(
        "--gap", type=float, help="|ln(right/left)| of every one-sided lift; drawn when left out"
    )
    write.add_argument(
        "--baseline", action="store_true", help="write baseline.csv too: the plain rule to beat"
    )
    write.add_argument(
        "--without", nargs="*", choices=sorted(DIFFICULTIES), default=[], help="leave these out"
    )
    write.add_argument("--out", type=Path, required=True)
    score = commands.add_parser("score", help="score predictions against the truth; writes results.json")
    score.add_argument("directory", type=Path)
    score.add_argument("--predictions", type=Path)
    score.add_argument("--capability", type=Path)
    score.add_argument("--sides", type=Path)
    table = commands.add_parser(
        "table", help="run every world through the backtest and write the results table"
    )
    table.add_argument("--athletes", type=int, default=60)
    table.add_argument("--seed", type=int, default=20)
    table.add_argument("--out", type=Path, default=Path(__file__).with_name("results.md"))
    sides = commands.add_parser("sides", help="judge invented lifters' sides and write the table")
    sides.add_argument("--lifters", type=int, default=400)
    sides.add_argument("--seed", type=int, default=20)
    sides.add_argument("--out", type=Path, default=Path(__file__).with_name("sided.md"))
    trends = commands.add_parser("trends", help="tell trends of simulated athletes and write their table")
    trends.add_argument("--athletes", type=int, default=60)
    trends.add_argument("--seed", type=int, default=20)
    trends.add_argument("--out", type=Path, default=Path(__file__).with_name("trends.md"))
    arguments = parser.parse_args()
    if arguments.command == "sides":
        sided_table.regenerate(arguments.out, arguments.lifters, arguments.seed)
        return
    if arguments.command == "trends":
        tell_trends(arguments.out, arguments.athletes, arguments.seed)
        return
    if arguments.command == "table":
        regenerate(arguments.out, arguments.athletes, arguments.seed)
        return
    if arguments.command == "write":
        a = arguments
        world = simulate(a.athletes, a.seed, a.constants, a.weeks, a.family, a.gap, a.without)
        write_world(world, a.out)
        if a.baseline:
            write_predictions(a.out / "baseline.csv", predict(world.rows))
        return
    results = score_directory(
        arguments.directory, arguments.predictions, arguments.capability, arguments.sides
    )
    sys.stdout.write(as_text(results))


if __name__ == "__main__":
    main()
