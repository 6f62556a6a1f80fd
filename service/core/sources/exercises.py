"""Works on what an exercise does to a muscle, how much of the body it moves, and what muscles are."""

from service.core.sources.registry import Source

WORKS: tuple[Source, ...] = (
    Source(
        key="Kubo2019",
        title="Effects of squat training with different depths on lower limb muscle volumes",
        authors="Kubo K, Ikebukuro T, Yata H",
        year=2019,
        where="European Journal of Applied Physiology 119:1933-1942, abstract",
        provenance="read",
        doi="10.1007/s00421-019-04181-y",
        note="One database page gives another design and other numbers than the published abstract; "
        "the abstract's are used.",
    ),
    Source(
        key="Plotkin2023",
        title="Hip thrust and back squat training elicit similar gluteus muscle hypertrophy and transfer "
        "similarly to the deadlift",
        authors="Plotkin DL, Rodas MA, Vigotsky AD, McIntosh MC, Breeze E, et al.",
        year=2023,
        where="Frontiers in Physiology 14:1279170, abstract",
        provenance="read",
        doi="10.3389/fphys.2023.1279170",
    ),
    Source(
        key="KneeExtensionLegPress2026",
        title="Hypertrophic Effects of Single- versus Multi-Joint Exercise: A Direct Comparison between Knee "
        "Extension and Leg Press",
        authors="authors not shown in the text that was read",
        year=2026,
        where="Medicine and Science in Sports and Exercise 58(7):1566-1580, abstract",
        provenance="read",
        doi="10.1249/MSS.0000000000003957",
        note="Gluteus maximus grew by 15.4 % under the leg press; the share of 0.7 with a wide spread is ours.",
    ),
    Source(
        key="Maeo2021",
        title="Greater Hamstrings Muscle Hypertrophy but Similar Damage Protection after Training at Long "
        "versus Short Muscle Lengths",
        authors="Maeo S, Huang M, Wu Y, Sakurai H, Kusagawa Y, Sugiyama T, Kanehisa H, Isaka T",
        year=2021,
        where="Medicine and Science in Sports and Exercise 53(4):825-837, abstract",
        provenance="read",
        doi="10.1249/MSS.0000000000002523",
    ),
    Source(
        key="Kinoshita2023",
        title="Triceps surae muscle hypertrophy is greater after standing versus seated calf-raise training",
        authors="Kinoshita M, Maeo S, Kobayashi Y, Eihara Y, Ono M, Sato M, Sugiyama T, Kanehisa H, Isaka T",
        year=2023,
        where="Frontiers in Physiology 14:1272106, abstract",
        provenance="read",
        doi="10.3389/fphys.2023.1272106",
    ),
    Source(
        key="Nunes2020",
        title="Different foot positioning during calf training to induce portion-specific gastrocnemius "
        "muscle hypertrophy",
        authors="Nunes JP, Costa BDV, Kassiano W, Kunevaliki G, Castro-e-Souza P, Rodacki ALF, Fortes LS, "
        "Cyrino ES",
        year=2020,
        where="Journal of Strength and Conditioning Research 34(8):2347-2351, abstract",
        provenance="read",
        doi="10.1519/JSC.0000000000003674",
        note="Calf raises in a horizontal leg press, one leg at a time; shares tilt less than the gains did.",
    ),
    Source(
        key="Mannarino2021",
        title="Single-Joint Exercise Results in Higher Hypertrophy of Elbow Flexors Than Multijoint Exercise",
        authors="Mannarino P, Matta T, Lima J, Simão R, Freitas de Salles B",
        year=2021,
        where="Journal of Strength and Conditioning Research 35(10):2677-2681, abstract",
        provenance="read",
        doi="10.1519/JSC.0000000000003234",
        note="Ten men, one arm each; the ratio of the two gains is derived.",
    ),
    Source(
        key="Brandao2020",
        title="Varying the order of combinations of single- and multi-joint exercises differentially affects "
        "resistance training adaptations",
        authors="Brandão et al.",
        year=2020,
        where="Journal of Strength and Conditioning Research 34(5):1254-1263, abstract",
        provenance="read",
        doi="10.1519/JSC.0000000000003550",
        note="The half-sentence on the long head of triceps brachii was cut off; its reading is from memory.",
    ),
    Source(
        key="Lanza2024",
        title="Muscle hypertrophy response across four muscles involved in the bench press exercise: "
        "Randomized 10 weeks training intervention",
        authors="Lanza MB, Prado GC, Lacerda LT, Dinardi RR, Carvalho Junior LH, Diniz RC, Lima FV, "
        "Chagas MH, Martins-Costa HC",
        year=2024,
        where="Journal of Bodywork and Movement Therapies 1417-1422, abstract",
        provenance="read",
        doi="10.1016/j.jbmt.2024.07.054",
        note="Gives an order of growth, no percentages.",
    ),
    Source(
        key="Wong2013",
        title="Using bench press load to predict upper body exercise loads in physically active individuals",
        authors="Wong DP, Ngo KL, Tse MA, Smith AW",
        year=2013,
        where="Journal of Sports Science and Medicine 12(1):38-43, abstract, equations (b) and (c)",
        provenance="read",
        note="Six-repetition maxima of 29 students; the lines have intercepts, so a ratio holds near the "
        "group's mean only. Loads of a pair of dumbbells: not said whether per hand, so not used.",
    ),
    Source(
        key="Ebben2011",
        title="Kinetic analysis of several variations of push-ups",
        authors="Ebben WP, Wurm B, VanderZanden TL, Spadavecchia ML, Durocher JJ, Bickham CT, Petushek EJ",
        year=2011,
        where="Journal of Strength and Conditioning Research 25(10):2891-2894",
        provenance="read_secondary",
        doi="10.1519/JSC.0b013e31820c8587",
        note="The abstract was read and gives the order of the variations; the share of 0.64 was seen in "
        "others' summaries.",
    ),
    Source(
        key="Rajagopal2016",
        title="Full-Body Musculoskeletal Model for Muscle-Driven Simulation of Human Gait",
        authors="Rajagopal A et al.",
        year=2016,
        where="the published model file: maximal isometric force times optimal fibre length",
        provenance="read",
        note="Volumes are derived with a specific tension of 60 N/cm2 (from memory); ratios between muscles "
        "do not depend on it. Title from memory.",
    ),
    Source(
        key="Mungall2012",
        title="Uberon, an integrative multi-species anatomy ontology",
        authors="Mungall CJ, Torniai C, Gkoutos GV, Lewis SE, Haendel MA",
        year=2012,
        where="Genome Biology 13:R5; the ontology's own musculoskeletal file",
        provenance="read",
        note="Identifiers were read in the ontology's file (CC BY 3.0), FMA identifiers as its "
        "cross-references; authors and title from memory.",
    ),
)
