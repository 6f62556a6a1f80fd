"""Works on what lies under a tape: muscles of a limb's cross-section, bone, and fat. Titles are as read unless noted."""

from service.core.sources.registry import Source

WORKS: tuple[Source, ...] = (
    Source(
        key="Cotofana2010",
        title="Correlation between single-slice muscle anatomical cross-sectional area and muscle volume in thigh extensors, "
        "flexors and adductors of perimenopausal women",
        authors="Cotofana S et al.",
        year=2010,
        where="Eur J Appl Physiol 110(1):91-97",
        provenance="read",
        doi="10.1007/s00421-010-1477-8",
        note="Abstract read: of thigh muscle volume extensors 50 %, flexors 19 %, adductors 28 %, sartorius 3 % (41 women, "
        "MRI). The first author is recalled.",
    ),
    Source(
        key="JapanesePhysicalTherapy1994",
        title="Shape, cross-sectional area and constitutive ratio of the muscles of the thigh",
        authors="not named where it was read",
        year=1994,
        where="Rigaku Ryohogaku 21(3)",
        provenance="read",
        note="Abstract read, nine men and eight women: the quadriceps has about 50 % of the muscle area between 20 and 80 % of the "
        "thigh, the adductors are largest at 73 % from the knee, the long biceps at 35 %. The title is a description, the year "
        "follows from the volume.",
    ),
    Source(
        key="Fukunaga1992",
        title="Physiological cross-sectional area of human leg muscles based on magnetic resonance imaging",
        authors="Fukunaga T, Roy RR, Shellock FG, Hodgson JA, Day MK, Lee PL, Kwong-Fu H, Edgerton VR",
        year=1992,
        where="J Orthop Res 10:926-934",
        provenance="read",
        note="Abstract read, 12 people: volumes of soleus, medial and lateral gastrocnemius 489, 245 and 140 cm3; physiological "
        "areas 230, 68 and 28 cm2, which are 8, 4 and 3 times the largest anatomical ones. Pages are recalled.",
    ),
    Source(
        key="Holzbaur2007",
        title="Upper limb muscle volumes in adult subjects",
        authors="Holzbaur KRS, Murray WM, Gold GE, Delp SL",
        year=2007,
        where="J Biomech 40:742-749",
        provenance="read",
        note="Abstract read, 10 people: muscles across shoulder, elbow and wrist have 52.5, 31.4 and 16.0 % of the volume, the "
        "deltoid 15.2 %. The volumes of single muscles are from memory: triceps 372, biceps 144, brachialis 144, "
        "brachioradialis 65, deltoid 381 cm3.",
    ),
    Source(
        key="Heymsfield1979",
        title="A radiographic method of quantifying protein-calorie undernutrition",
        authors="Heymsfield SB et al.",
        year=1979,
        where="Am J Clin Nutr 32:693-702",
        provenance="read",
        note="Abstract read, 21 people by computed tomography: bone at the middle of the arm 6.3 cm2 in men and 4.7 in women; "
        "area by tape and fold is 15 to 25 % larger than the muscle's. Title and authors are recalled.",
    ),
    Source(
        key="Hurley1991",
        title="Assessment of strength training effects on leg composition in older men using magnetic resonance imaging",
        authors="Hurley BF et al.",
        year=1991,
        where="Med Sci Sports Exerc 23(4):S108",
        provenance="read",
        note="Abstract read, six men, 14 weeks: muscle area of the thigh 8 % more, fat under the skin 9 % less, and no change of "
        "girth or skinfold that could be shown.",
    ),
)
