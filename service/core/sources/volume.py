"""Works on weekly volume, recovery, pain and how sides differ. Titles are as recalled."""

from service.core.sources.registry import Source

WORKS: tuple[Source, ...] = (
    Source(
        key="Pelland2025",
        title=("The resistance training dose response: meta-regressions of weekly volume and frequency"),
        authors="Pelland, Remmert, Robinson, Hinson & Zourdos",
        year=2025,
        where="Sports Medicine; preprint on SportRxiv 2024",
        provenance="read",
        doi="10.1007/s40279-025-02344-w",
        note=(
            "Abstract read. The square-root form, 0.24 % a set at 12.25 sets and the tier edges "
            "are from memory; four sets for a detectable gain was read in a news summary."
        ),
    ),
    Source(
        key="Schoenfeld2017",
        title=(
            "Dose-response relationship between weekly resistance training volume and increases in"
            " muscle mass"
        ),
        authors="Schoenfeld, Ogborn & Krieger",
        year=2017,
        where="J Sports Sci 35(11):1073-1082",
        provenance="read",
        note=(
            "Abstract read: 0.37 percentage points and 0.023 effect size a weekly set, which is the same slope in spreads of"
            " size between people (16 % of it)."
        ),
    ),
    Source(
        key="Ahtiainen2016",
        title="Heterogeneity in resistance training-induced muscle strength and mass responses in men and women",
        authors="Ahtiainen JP et al.",
        year=2016,
        where="Age 38:10",
        provenance="read",
        doi="10.1007/s11357-015-9870-1",
        note="Abstract read: 287 untrained adults, 4.8 (sd 6.1) % of size and 21.1 (11.5) % of strength. The title is recalled.",
    ),
    Source(
        key="Erskine2014",
        title="The contribution of muscle hypertrophy to strength changes following resistance training",
        authors="Erskine RM, Fletcher G, Folland JP",
        year=2014,
        where="Eur J Appl Physiol 114(6):1239-1249",
        provenance="read",
        doi="10.1007/s00421-014-2855-4",
        note="Abstract read: gains in volume against gains in 1RM, r = 0.482 (n = 33, 12 weeks, untrained men).",
    ),
    Source(
        key="Refalo2023",
        title=("Influence of resistance training proximity-to-failure on skeletal muscle hypertrophy"),
        authors="Refalo et al.",
        year=2023,
        where="Sports Med 53:649-665",
        provenance="read",
        note="Abstract read.",
    ),
    Source(
        key="Lasevicius2018",
        title=(
            "Effects of different intensities of resistance training with equated volume load on "
            "strength and hypertrophy"
        ),
        authors="Lasevicius et al.",
        year=2018,
        where="Eur J Sport Sci",
        provenance="memory",
        note="Direction only: 20 % of 1RM inferior to 40 to 80 %.",
    ),
    Source(
        key="Coleman2022",
        title="Muscular adaptations in drop set vs. traditional training: a meta-analysis",
        authors="Coleman et al.",
        year=2022,
        where="Int J Strength Cond 2(1)",
        provenance="read",
        note="Abstract read: 0.08 (-0.08 to 0.24) for size.",
    ),
    Source(
        key="Sodal2023",
        title=("Effects of drop sets on skeletal muscle hypertrophy: a systematic review and meta-analysis"),
        authors="Sodal, Kristiansen, Larsen & van den Tillaar",
        year=2023,
        where="Sports Med Open 9:66",
        provenance="read",
        note="Abstract read: 0.155, not significant; pre-post 0.555 and 0.437.",
    ),
    Source(
        key="Hubal2005",
        title=("Variability in muscle size and strength gain after unilateral resistance training"),
        authors="Hubal et al.",
        year=2005,
        where="Med Sci Sports Exerc 37(6):964-972",
        provenance="read",
        note="Abstract read; the spread includes measurement error.",
    ),
    Source(
        key="Bickel2011",
        title=("Exercise dosing to retain resistance training adaptations in young and older adults"),
        authors="Bickel, Cross & Bamman",
        year=2011,
        where="Med Sci Sports Exerc 43(7):1177-1187",
        provenance="read",
        note=(
            "Abstract read: a ninth of the dose held size at 20 to 35 years, neither a third nor a"
            " ninth at 60 to 75."
        ),
    ),
    Source(
        key="Enes2024",
        title=("Effects of different weekly set progressions on muscular adaptations in trained males"),
        authors="Enes, De Souza & Souza-Junior",
        year=2024,
        where="Med Sci Sports Exerc 56(3):553-563",
        provenance="memory",
        note="The final 42 and 52 weekly sets are from memory; p values read.",
    ),
    Source(
        key="Korak2015",
        title=(
            "Resistance training recovery: considerations for single vs. multi-joint movements and"
            " upper vs. lower body muscles"
        ),
        authors="Korak, Green & O'Neal",
        year=2015,
        where="Int J Exerc Sci 8(1):85-96",
        provenance="read",
        note=(
            "Abstract read: ten men, two sets a lift, one of them to failure; -1.7 (1.5) and -0.5 "
            "(1.8) repetitions at 24 h; within one repetition at 48 h: 80 % of people, bench press"
            " 70 %, deadlift 60 %."
        ),
    ),
    Source(
        key="MoranNavarro2017",
        title=("Time course of recovery following resistance training leading or not to failure"),
        authors="Moran-Navarro et al.",
        year=2017,
        where="Eur J Appl Physiol 117:2387-2399",
        provenance="read",
        note="Abstract read: failure slower to 24 to 48 h, ten people.",
    ),
    Source(
        key="Bartolomei2017",
        title=(
            "Comparison of the recovery response from high-intensity and high-volume resistance "
            "exercise in trained men"
        ),
        authors="Bartolomei et al.",
        year=2017,
        where="Eur J Appl Physiol 117:1287-1298",
        provenance="read",
        note="Abstract read: 8x10 still impaired at 72 h, 8x3 not.",
    ),
    Source(
        key="Helland2020",
        title="Subjective readiness and performance in strength training",
        authors="Helland et al.",
        year=2020,
        where="2020, journal not seen",
        provenance="read",
        note="Abstract read: poor individual agreement; title paraphrased.",
    ),
    Source(
        key="Silbernagel2007",
        title=(
            "Continued sports activity, using a pain-monitoring model, during rehabilitation in "
            "patients with Achilles tendinopathy"
        ),
        authors="Silbernagel, Thomee, Eriksson & Karlsson",
        year=2007,
        where="Am J Sports Med 35(6):897-906",
        provenance="memory",
        note=("The trial's scores were read; the zones are from memory, and versions differ on 2 or 3."),
    ),
    Source(
        key="Thomee1997",
        title=("A comprehensive treatment approach for patellofemoral pain syndrome in young women"),
        authors="Thomee",
        year=1997,
        where="Phys Ther 77:1690-1703",
        provenance="memory",
        note="Zones from memory.",
    ),
    Source(
        key="Salaffi2004",
        title=(
            "Minimal clinically important changes in chronic musculoskeletal pain intensity "
            "measured on a numerical rating scale"
        ),
        authors="Salaffi et al.",
        year=2004,
        where="Eur J Pain 8:283-291",
        provenance="read",
        note=("Abstract read: -1 point or -15 % the least change, -2 or -33 % much better."),
    ),
    Source(
        key="NhsBackPain",
        title="Back pain: when to get help at once",
        authors="NHS Norfolk & Waveney community health",
        year=2024,
        where="public web page",
        provenance="read_secondary",
        note="Signs paraphrased; year of the page not seen.",
    ),
    Source(
        key="PublicStopList",
        title="Signs to stop exercise and see someone, as in public guidance",
        authors="various public bodies",
        year=2024,
        where="public guidance",
        provenance="memory",
        note="From memory, high confidence; no single work.",
    ),
    Source(
        key="Norton1996",
        title="Anthropometrica: acceptable technical errors of girths",
        authors="Norton & Olds",
        year=1996,
        where="UNSW Press; after Perini et al. 2005",
        provenance="memory",
        note="1.5 % for a beginner and 1.0 % for a skilled measurer.",
    ),
    Source(
        key="Baroni2016",
        title=("Strength imbalances between knee extensors and equal-volume one-sided training"),
        authors="Baroni et al.",
        year=2016,
        where="J Strength Cond Res",
        provenance="read",
        note=(
            "Abstract read: preferred and other side 4.9 % and 5.8 % apart; equal by week 4 to 8 "
            "of training at equal volume."
        ),
    ),
    Source(
        key="Afonso2022",
        title="Asymmetry and injury or performance: a narrative review",
        authors="Afonso et al.",
        year=2022,
        where="Symmetry 14:1993",
        provenance="read_secondary",
        note=(
            "Summary read: no evidence that reducing an asymmetry lowers injury or improves "
            "performance; title paraphrased."
        ),
    ),
)
