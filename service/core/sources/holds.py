"""Works on how long a load can be held."""

from service.core.sources.registry import Source

WORKS: tuple[Source, ...] = (
    Source(
        key="FreyLawAvin2010",
        title="Endurance time is joint-specific: a modelling and meta-analysis investigation",
        authors="Frey Law LA, Avin KG",
        year=2010,
        where="Ergonomics 53(1):109-129, abstract",
        provenance="read",
        note="369 points of 194 publications: a power law fits best; ankle, trunk, grip, elbow, knee, shoulder in the order "
        "of endurance. The coefficients by joint are from memory.",
    ),
    Source(
        key="FreyLaw2012",
        title="A three-compartment muscle fatigue model accurately predicts joint-specific maximum endurance times for "
        "sustained isometric tasks",
        authors="Frey-Law LA, Looft JM, Heitsman J",
        year=2012,
        where="Journal of Biomechanics 45(10):1803-1808, abstract",
        provenance="read",
        note="Rates of fatigue and recovery of the ankle and the shoulder; the abstract as it was read pairs them crosswise.",
    ),
)
