"""Works behind the load-repetition formulas, and the federation rules that fix bars and discs."""

from service.core.sources.registry import Source

WORKS: tuple[Source, ...] = (
    Source(
        key="Epley1985",
        title="Poundage chart",
        authors="Epley B",
        year=1985,
        where="Boyd Epley Workout. Lincoln, NE: Body Enterprises, p. 86",
        provenance="read_secondary",
        note="Printed with 1/30 and with the rounded 0.0333; both forms are kept.",
    ),
    Source(
        key="Brzycki1993",
        title="Strength testing: predicting a one-rep max from reps-to-fatigue",
        authors="Brzycki M",
        year=1993,
        where="Journal of Physical Education, Recreation and Dance 64(1):88-90",
        provenance="read_secondary",
        doi="10.1080/07303084.1993.10606684",
        note="Also printed rounded as 36/(37-r), which differs from the second decimal on.",
    ),
    Source(
        key="Lander1985",
        title="Maximums based on reps",
        authors="Lander J",
        year=1985,
        where="NSCA Journal 6(6):60-61",
        provenance="read_secondary",
        note="Another page gives the same coefficients under another author's name; the paper itself "
        "was not seen.",
    ),
    Source(
        key="Lombardi1989",
        title="Beginning Weight Training: The Safe and Effective Way",
        authors="Lombardi VP",
        year=1989,
        where="Dubuque, IA: Brown",
        provenance="read_secondary",
    ),
    Source(
        key="Mayhew1992",
        title="Relative muscular endurance performance as a predictor of bench press strength in "
        "college men and women",
        authors="Mayhew JL, Ball TE, Arnold MD, Bowen JC",
        year=1992,
        where="Journal of Applied Sport Science Research 6(4):200-206",
        provenance="read_secondary",
        note="Fitted on one-minute bench press sets at 55 to 95 % of the maximum.",
    ),
    Source(
        key="Mayhew1995",
        title="Muscular endurance repetitions to predict bench press strength in men of different "
        "training levels",
        authors="Mayhew JL, Prinster JL, Ware JS, Zimmer DL, Arabas JR, Bemben MG",
        year=1995,
        where="Journal of Sports Medicine and Physical Fitness 35(2):108-113",
        provenance="read",
        note="Abstract only: six equations, 220 men; above ten repetitions each missed significantly.",
    ),
    Source(
        key="OConner1989",
        title="Weight Training Today",
        authors="O'Conner B, Simmons J, O'Shea P",
        year=1989,
        where="St. Paul, MN: West",
        provenance="read_secondary",
    ),
    Source(
        key="Wathen1994",
        title="Load assignment",
        authors="Wathen D",
        year=1994,
        where="Essentials of Strength Training and Conditioning. Champaign, IL: Human Kinetics, pp. 435-446",
        provenance="read_secondary",
    ),
    Source(
        key="Kemmler2006",
        title="Predicting maximal strength in trained postmenopausal woman",
        authors="Kemmler WK, Lauber D, Wassermann A, Mayhew JL",
        year=2006,
        where="Journal of Strength and Conditioning Research 20(4):838-842",
        provenance="read",
        note="Abstract only. Machines, 3 to 20 repetitions; mean absolute difference 1.5 to 3.1 %.",
    ),
    Source(
        key="Reynolds2006",
        title="Prediction of one repetition maximum strength from multiple repetition maximum testing "
        "and anthropometry",
        authors="Reynolds JM, Gordon TJ, Robergs RA",
        year=2006,
        where="Journal of Strength and Conditioning Research 20(3):584-592",
        provenance="read",
        note="Abstract only: load falls with repetitions along a curve; linear equations should stop at ten.",
    ),
    Source(
        key="IWF2018",
        title="Technical and Competition Rules and Regulations, second edition 2018",
        authors="International Weightlifting Federation",
        year=2018,
        where="Budapest: IWF, section 3.3, sport equipment",
        provenance="read_secondary",
        note="Bars, collars and discs seen in a national federation's and a broadcaster's summary, not "
        "in the rules.",
    ),
    Source(
        key="IPF2014",
        title="Technical Rules Book, updated 24 November 2014",
        authors="International Powerlifting Federation",
        year=2014,
        where="International Powerlifting Federation, section on bars and discs",
        provenance="read_secondary",
        note="Figures seen in an undated translated copy whose first disc (1.25 kg) is cut to '25'.",
    ),
)
