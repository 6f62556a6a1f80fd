"""Works behind the indices of side-to-side difference and their reliability."""

from service.core.sources.registry import Source

_FORM_SECONDARY = "Form seen in a secondary source; the attribution is from memory."

WORKS: tuple[Source, ...] = (
    Source(
        key="Bishop2016",
        title="Asymmetries of the lower limb: the calculation conundrum in strength training and "
        "conditioning",
        authors="Bishop C, Read P, Chavda S, Turner A",
        year=2016,
        where="Strength and Conditioning Journal 38(6):27-32",
        provenance="read_secondary",
        note="Catalogue of indices; its tables were not readable, the forms were seen in secondary sources.",
    ),
    Source(
        key="Parkinson2021",
        title="The calculation, thresholds and reporting of inter-limb strength asymmetry: a "
        "systematic review",
        authors="Parkinson AO, Apps CL, Morris JG, Barnett CT, Lewis MGC",
        year=2021,
        where="Journal of Sports Science and Medicine 20:594-617",
        provenance="read",
        doi="10.52082/jssm.2021.594",
        note="Abstract only: 4 of 12 indices do not depend on a reference limb.",
    ),
    Source(
        key="Robinson1987",
        title="Use of force platform variables to quantify the effects of chiropractic manipulation on "
        "gait symmetry",
        authors="Robinson RO, Herzog W, Nigg BM",
        year=1987,
        where="Journal of Manipulative and Physiological Therapeutics 10(4):172-176",
        provenance="read_secondary",
        note=_FORM_SECONDARY,
    ),
    Source(
        key="Impellizzeri2007",
        title="A vertical jump force test for assessing bilateral strength asymmetry in athletes",
        authors="Impellizzeri FM, Rampinini E, Maffiuletti N, Marcora SM",
        year=2007,
        where="Medicine and Science in Sports and Exercise 39(11):2044-2050",
        provenance="read_secondary",
        note=_FORM_SECONDARY,
    ),
    Source(
        key="Zifchock2008",
        title="The symmetry angle: a novel, robust method of quantifying asymmetry",
        authors="Zifchock RA, Davis I, Higginson J, Royer T",
        year=2008,
        where="Gait and Posture 27(4):622-627",
        provenance="read",
        note="Abstract only; the equation was seen in a secondary source.",
    ),
    Source(
        key="MedicalAlgorithms2026",
        title="Asymmetry index of the larger over the smaller side",
        authors="Medical Algorithms Company",
        year=2026,
        where="medicalalgorithms.com, page on the asymmetry index; undated, the year is that of reading",
        provenance="read",
        note="The page names no paper for the formula. The title is a description.",
    ),
    Source(
        key="Zoeger2025",
        title="Bilateral strength asymmetry of knee extension: reliability and consistency",
        authors="Zöger M, Nimmerichter A, Baca A, Wirth K",
        year=2025,
        where="Frontiers in Sports and Active Living, article 1635685",
        provenance="read",
        doi="10.3389/fspor.2025.1635685",
        note="Abstract read; the title is re-translated. SEM 5.0 to 8.3 %, MDC 13.9 to 22.9 %.",
    ),
    Source(
        key="Weir2005",
        title="Quantifying test-retest reliability using the intraclass correlation coefficient and the SEM",
        authors="Weir JP",
        year=2005,
        where="Journal of Strength and Conditioning Research 19(1):231-240",
        provenance="memory",
        note="Abstract read; the formulas are from memory and reproduce a published pair (Zoeger2025).",
    ),
    Source(
        key="Howard1991",
        title="Maximum bilateral contractions are modified by neurally mediated interlimb effects",
        authors="Howard JD, Enoka RM",
        year=1991,
        where="Journal of Applied Physiology 70(1):306-316",
        provenance="memory",
        note="A page that was read prints the ratio without taking 100 off: two conventions in use.",
    ),
    Source(
        key="Ymisc2026",
        title="Relative asymmetry of two sides, function compute_AI",
        authors="Maintainers of the R package Ymisc",
        year=2026,
        where="manual page of the R package Ymisc; undated, the year is that of reading",
        provenance="read",
        note="Equation read: (left - right) / (left + right). The title is a description.",
    ),
    Source(
        key="Subtyper2026",
        title="Asymmetry index of paired columns, function asymind",
        authors="Maintainers of the R package subtyper",
        year=2026,
        where="stnava.github.io/subtyper, manual page; undated, the year is that of reading",
        provenance="read",
        note="Equation and printed example read: 2 |A - B| / (A + B) is 0.5 for 5 and 3. The title is a description.",
    ),
)
