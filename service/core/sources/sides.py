"""Works behind the error of a tape, the correction of girths, and what closes a gap between the sides."""

from service.core.sources.registry import Source

WORKS: tuple[Source, ...] = (
    Source(
        key="SportRxivTape2026",
        title="Tape and skinfold triplicates of an open training trial",
        authors="authors of the preprint 10.51224/SRXIV.485",
        year=2026,
        where="SportRxiv 485, open data; the year is that of reading, the title a description",
        provenance="read_secondary",
        doi="10.51224/SRXIV.485",
        note="Within-occasion error of triplicates: arm 1.25 %, thigh 0.78 %, skinfold about 4.8 %. Aggregates "
        "computed from the trial's tape data were seen, not its text.",
    ),
    Source(
        key="Jamaiyah2008",
        title="Reliability and technical error of calf circumference and mid-half arm span measurements for "
        "nutritional status assessment of elderly persons in Malaysia",
        authors="Jamaiyah H, Geeta A, Safiza MN, et al.",
        year=2008,
        where="Malaysian Journal of Nutrition 14(2):137-150; title and place from memory",
        provenance="read_secondary",
        note="Calf girth, one examiner twice: limits of agreement +-0.5 cm, mean difference 0.",
    ),
    Source(
        key="Perini2005",
        title="Technical error of measurement in anthropometry",
        authors="Perini TA, de Oliveira GL, Ornellas JS, de Oliveira FP",
        year=2005,
        where="Revista Brasileira de Medicina do Esporte 11(1):81-85",
        provenance="memory",
        note="Abstract read; the formula sqrt(sum d^2 / 2n) is from memory.",
    ),
    Source(
        key="Martin1990",
        title="Anthropometric estimation of muscle mass in men",
        authors="Martin AD, Spenst LF, Drinkwater DT, Clarys JP",
        year=1990,
        where="Medicine and Science in Sports and Exercise 22(5):729-733",
        provenance="read_secondary",
        note="Corrected girth = girth - pi skinfold in one unit; one secondary page drops pi. Its whole-body "
        "equation is not used.",
    ),
    Source(
        key="Manca2017",
        title="Cross-education of muscular strength following unilateral resistance training: a meta-analysis",
        authors="Manca A, Dragone D, Dvir Z, Deriu F",
        year=2017,
        where="European Journal of Applied Physiology 117(11):2335-2354",
        provenance="read",
        doi="10.1007/s00421-017-3720-z",
        note="Abstract: the untrained limb gains 11.9 % (9.1 to 14.8), upper 9.4, lower 16.4; high risk of bias.",
    ),
    Source(
        key="GreenGabriel2018",
        title="The effect of unilateral training on contralateral limb strength in young, older, and patient "
        "populations: a meta-analysis of cross education",
        authors="Green LA, Gabriel DA",
        year=2018,
        where="Physical Therapy Reviews 23(4-5):238-249",
        provenance="read",
        doi="10.1080/10833196.2018.1499272",
        note="Abstract: 18 % in the young, 17 % in older people, 29 % in patients.",
    ),
    Source(
        key="Bettariga2022",
        title="The effects of training interventions on interlimb asymmetries: a systematic review with "
        "meta-analysis",
        authors="Bettariga F, Turner A, Maloney S, et al.",
        year=2022,
        where="Strength and Conditioning Journal 44(5):69-86; title and place from memory",
        provenance="read_secondary",
        note="Abstract: small to moderate reductions, by training one side at a time or both at once.",
    ),
)
