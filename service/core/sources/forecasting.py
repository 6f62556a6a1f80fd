"""Works on how forecasts are judged."""

from service.core.sources.registry import Source

WORKS: tuple[Source, ...] = (
    Source(
        key="Gneiting2007",
        title="Strictly proper scoring rules, prediction, and estimation",
        authors="Gneiting, Raftery",
        year=2007,
        where="Journal of the American Statistical Association 102(477):359-378",
        provenance="read_secondary",
        doi="10.1198/016214506000001437",
        note="The paper itself was not read; how a package's manual defines the score was. The score is checked "
        "against its closed form for a Gaussian.",
    ),
)
