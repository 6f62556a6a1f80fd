"""Works on how strength changes over weeks, how that is smoothed, and on weeks of reduced training."""

from service.core.sources.registry import Source

WORKS: tuple[Source, ...] = (
    Source(
        key="Rauch1965",
        title="Maximum likelihood estimates of linear dynamic systems",
        authors="Rauch, Tung & Striebel",
        year=1965,
        where="AIAA Journal 3(8):1445-1450",
        provenance="memory",
        note="The fixed-interval smoother; checked against another library's and against one large Gaussian.",
    ),
    Source(
        key="Littell1996",
        title="SAS System for Mixed Models",
        authors="Littell, Milliken, Stroup & Wolfinger",
        year=1996,
        where="SAS Institute, data set 3.2(a), as carried by the R package SASmixed (Weights)",
        provenance="read_secondary",
        note=(
            "57 people, strength on seven occasions: a random intercept's REML fit has sd 3.0991 between people and "
            "1.0897 within, and the errors within follow an AR(1) of 0.787. The data are under GPL and not copied."
        ),
    ),
    Source(
        key="Coleman2024",
        title="Gaining more from doing less? A one-week deload period during supervised resistance training",
        authors="Coleman et al.",
        year=2024,
        where="PeerJ 12:e16777",
        provenance="read",
        doi="10.7717/peerj.16777",
        note="Abstract read: a full week off in the middle of nine left size the same and strength worse (n = 39).",
    ),
    Source(
        key="Bell2023",
        title="Integrating deloading into strength and physique sports training programmes: a Delphi consensus",
        authors="Bell, Strafford, Coleman, Androulakis Korakakis & Nolan",
        year=2023,
        where="Sports Medicine - Open 9:87",
        provenance="memory",
        note=(
            "The definition was read; every 5.6 (2.3) weeks for 6.4 (1.7) days is coaches' practice as recalled, from "
            "a survey by the same group."
        ),
    ),
    Source(
        key="Spiering2021",
        title="Maintaining physical performance: the minimal dose of exercise needed over time",
        authors="Spiering, Mujika, Sharp & Foulis",
        year=2021,
        where="J Strength Cond Res 35(5):1449-1458",
        provenance="read",
        note="Abstract read: one session a week and one set an exercise hold strength and size, the load being kept.",
    ),
    Source(
        key="ReducedWeeks2026",
        title="Two weeks of reduced training within eight weeks of resistance training",
        authors="not shown in the excerpt",
        year=2026,
        where="Scientific Reports, s41598-026-40612-5, unedited early version",
        provenance="read",
        note="Abstract read: no detectable cost in untrained people.",
    ),
)
