"""Writes growth_by_nuts.csv: the answer to weekly volume by a sampler that knows nothing of our nodes.

Run by hand (`pip install numpyro`, then `python tests/oracles/growth_by_nuts.py`); the tests read the CSV. The model is
the whole one: slope, root that holds size, share of strength that is size, and a peak or none, with the walk, the
drifts that lifts share and the readings' shared errors; the downturn is summed out. The slope is a whole normal
(`SAMPLED_PRIOR`), without the cut at zero: its posterior is what ours is before that cut (`uncut_slope`).
"""

import csv
from pathlib import Path

import jax
import jax.numpy as jnp
import numpy as np
import numpyro
import numpyro.distributions as dist
from numpyro.infer import MCMC, NUTS

from service.core.volume import nodes
from service.core.volume import response as own
from tests.oracles.test_growth_against_grid import CASES, SAMPLED_PRIOR, Truth, seen, together

jax.config.update("jax_enable_x64", True)


def model(series, training):
    scaled = numpyro.sample("scaled", dist.Normal(0.0, 1.0))
    slope = numpyro.deterministic("slope", SAMPLED_PRIOR.centre + SAMPLED_PRIOR.spread * scaled)
    root = nodes.ROOT_TO_HOLD * jnp.exp(
        nodes.ROOT_TO_HOLD_LOG_SD * numpyro.sample("ln_root", dist.Normal(0.0, 1.0))
    )
    share = nodes.SIZE_SHARE[training] * jnp.exp(
        nodes.SIZE_SHARE_LOG_SD * numpyro.sample("ln_share", dist.Normal(0.0, 1.0))
    )
    peak = nodes.PEAK * jnp.exp(nodes.PEAK_LOG_SD * numpyro.sample("ln_peak", dist.Normal(0.0, 1.0)))
    kinds = [(kind, [one for one in series if one.kind == kind]) for kind in ("strength", "girth")]
    logs = []
    for falls in (0.0, 0.5 / jnp.sqrt(peak)):
        total = 0.0
        for kind, told in kinds:
            if told:
                size = share if kind == "strength" else own.GIRTH_SHARE
                changes, drift, noise = together(told, training)
                grown = [slope * (one.roots - root * one.weeks - falls * one.doses) / size for one in told]
                total += dist.MultivariateNormal(drift + jnp.concatenate(grown), noise).log_prob(changes)
        logs.append(total)
    both = jnp.logaddexp(jnp.log(1.0 - nodes.DOWNTURN) + logs[0], jnp.log(nodes.DOWNTURN) + logs[1])
    numpyro.factor("seen", both)
    numpyro.deterministic("downturn", jnp.exp(jnp.log(nodes.DOWNTURN) + logs[1] - both))


def main() -> None:
    """Sample every case of the grid's test and write mean, sd and chance of a downturn with their errors."""
    with (Path(__file__).with_name("growth_by_nuts.csv")).open("w", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(["case", "slope_mean", "slope_sd", "p_downturn", "effective_size", "divergences"])
        for place, (case, parts) in enumerate(CASES.items()):
            rng = np.random.default_rng(place)
            series = [seen(Truth(slope), rng, kind=kind) for kind, slope in parts]
            runner = MCMC(
                NUTS(model, target_accept_prob=0.95),
                num_warmup=1000,
                num_samples=10000,
                num_chains=2,
                progress_bar=False,
                chain_method="sequential",
            )
            runner.run(jax.random.PRNGKey(place), series, "unknown")
            slopes = np.asarray(runner.get_samples()["slope"])
            size = numpyro.diagnostics.effective_sample_size(
                np.asarray(runner.get_samples(group_by_chain=True)["slope"])
            )
            out.writerow(
                [
                    case,
                    f"{slopes.mean():.7f}",
                    f"{slopes.std():.7f}",
                    f"{float(np.asarray(runner.get_samples()['downturn']).mean()):.5f}",
                    f"{float(size):.0f}",
                    int(np.asarray(runner.get_extra_fields()["diverging"]).sum()),
                ]
            )


if __name__ == "__main__":
    main()
