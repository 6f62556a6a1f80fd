"""Works on how a session is put together: order, rest, dose per session."""

from service.core.sources.registry import Source

WORKS: tuple[Source, ...] = (
    Source(
        key="Nunes2021",
        title="What influence does resistance exercise order have on muscular strength gains and muscle "
        "hypertrophy? A systematic review and meta-analysis",
        authors="Nunes et al.",
        year=2021,
        where="European Journal of Sport Science 21(2):149-157",
        provenance="read",
        note="Abstract read: strength 0.32 for multi-joint lifts done first (p 0.034), size 0.03 (p 0.862). "
        "The title is as recalled.",
    ),
    Source(
        key="Singer2024",
        title="Rest intervals between sets and muscle hypertrophy: a Bayesian meta-analysis",
        authors="Singer et al.",
        year=2024,
        where="Frontiers in Sports and Active Living 6:1429789",
        provenance="read",
        note="Abstract read: 0.48 (0.19 to 0.81) with short and 0.56 (0.24 to 0.86) with longer rest; the "
        "cut at 60 s is from memory, the title as recalled.",
    ),
    Source(
        key="Remmert2025",
        title="Resistance training volume per session: meta-regressions",
        authors="Remmert et al.",
        year=2025,
        where="Preprint on SportRxiv (537)",
        provenance="memory",
        note="About 11 fractional sets a muscle and session, beyond which more was not seen to be better; a "
        "third party quoted about 8 direct sets. The title is as recalled.",
    ),
)
