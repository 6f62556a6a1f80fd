"""Works on repetitions at a share of the 1RM, reported reserve, progression rules and strength's noise."""

from service.core.sources.registry import Source

WORKS: tuple[Source, ...] = (
    Source(
        key="RichensCleather2014",
        title="The relationship between the number of repetitions performed at given intensities is "
        "different in "
        "endurance and strength trained athletes",
        authors="Richens B, Cleather DJ",
        year=2014,
        where="Biology of Sport 31:157-161, abstract",
        provenance="read",
    ),
    Source(
        key="WomenPowerLifts2024",
        title="Differences in Female Lift Quality During Back Squat, Bench Press, and Deadlift",
        authors="authors not shown in the text that was read",
        year=2024,
        where="International Journal of Strength and Conditioning, abstract",
        provenance="read",
        note="Squat, bench press and deadlift followed one another in one session, so later lifts were "
        "not fresh.",
    ),
    Source(
        key="Cooke2019",
        title="Repetitions to failure at 70 % of 1RM in the back squat",
        authors="Cooke DM et al.",
        year=2019,
        where="Journal of Strength and Conditioning Research 33:890-895, abstract",
        provenance="read",
        note="The title is a description, not the paper's own.",
    ),
    Source(
        key="Shimano2006",
        title="Repetitions at percentages of 1RM in trained and untrained men",
        authors="Shimano T et al.",
        year=2006,
        where="Journal of Strength and Conditioning Research 20:819-823; squat at 60 % as cited by Cooke "
        "et al. 2019",
        provenance="read_secondary",
        note="The title is a description. Only the squat at 60 % was read; other cells are not used.",
    ),
    Source(
        key="Zourdos2021",
        title="Accuracy of predicted repetitions in reserve in the squat",
        authors="Zourdos MC et al.",
        year=2021,
        where="Journal of Strength and Conditioning Research 35:S158-S165, abstract",
        provenance="read",
        note="The title is a description, not the paper's own.",
    ),
    Source(
        key="Lopes2014",
        title="Repetitions to failure at 80 % of 1RM in the bench press and the preacher curl",
        authors="Lopes et al.",
        year=2014,
        where="Motriz, abstract",
        provenance="read",
        note="The title is a description, not the paper's own.",
    ),
    Source(
        key="Day2023",
        title="Preacher curls to failure at 80 % and 30 % of 1RM",
        authors="Day et al.",
        year=2023,
        where="International Journal of Exercise Science, conference abstracts, volume 16",
        provenance="read",
        note="The title is a description; the year follows from the volume (from memory).",
    ),
    Source(
        key="Halperin2022",
        title="Accuracy in predicting repetitions to task failure in resistance exercise: a meta-analysis",
        authors="Halperin I et al.",
        year=2022,
        where="Sports Medicine 52:377-390, abstract",
        provenance="read",
        note="Overall, people had about one repetition more in reserve than they said.",
    ),
    Source(
        key="Acsm2009",
        title="Progression models in resistance training for healthy adults (position stand)",
        authors="American College of Sports Medicine; Ratamess NA et al.",
        year=2009,
        where="Medicine and Science in Sports and Exercise 41:687-708, summary",
        provenance="read",
    ),
    Source(
        key="BaechleEarleTwoForTwo",
        title="The two-for-two rule, in Essentials of Strength Training and Conditioning",
        authors="Baechle TR, Earle RW (eds)",
        year=2008,
        where="as quoted in a page that reproduces the rule",
        provenance="read_secondary",
        note="The edition and its year are from memory.",
    ),
    Source(
        key="Senna2011",
        title="Rest between sets and repetitions completed",
        authors="Senna G et al.",
        year=2011,
        where="Journal of Strength and Conditioning Research, abstract",
        provenance="read",
        note="The title is a description; read for its direction only: longer rests allow more repetitions.",
    ),
)
