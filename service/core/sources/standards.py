"""Open standards whose figures, vectors or rules the service follows."""

from service.core.sources.registry import Source

WORKS: tuple[Source, ...] = (
    Source(
        key="Hoffman2014",
        title="RFC 7396: JSON Merge Patch",
        authors="Hoffman P, Snell J",
        year=2014,
        where="Internet Engineering Task Force, section 2 and appendix A",
        provenance="read_secondary",
        doi="10.17487/RFC7396",
        note="Test table read in a library's copy of appendix A.",
    ),
    Source(
        key="Davis2024",
        title="RFC 9562: Universally Unique IDentifiers (UUIDs)",
        authors="Davis KR, Peabody BG, Leach P",
        year=2024,
        where="Internet Engineering Task Force, sections 5.7 and 6.2, appendix A.6",
        provenance="read_secondary",
        doi="10.17487/RFC9562",
        note="Read in the working group's source draft.",
    ),
    Source(
        key="Astin1959",
        title="Refinement of values for the yard and the pound",
        authors="Astin AV, Karo HA",
        year=1959,
        where="National Bureau of Standards, Federal Register 24:5348",
        provenance="read_secondary",
        note="1 lb = 0.45359237 kg and 1 in = 2.54 cm, both exact; figures read in later pages that "
        "repeat them.",
    ),
    Source(
        key="UCUM2024",
        title="The Unified Code for Units of Measure, essence 2.2",
        authors="Regenstrief Institute",
        year=2024,
        where="ucum-essence of 17 June 2024",
        provenance="read",
        note="[lb_av] is 7000 grains of 64.79891 mg.",
    ),
)
