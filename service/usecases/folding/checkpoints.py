"""Which earlier states are kept: a function of how many sessions there are, about one for each doubling of distance."""


def kept_checkpoints(session_count: int) -> set[int]:
    """Return the numbers of sessions whose states are kept beside the state of ``session_count`` sessions.

    State ``i`` is kept while the log has gone on from it by less than twice the largest power of two that divides
    ``i``. Once dropped it is not wanted again as the log grows, so that growing needs no state that is gone, and every
    order of arrival keeps the same ones.
    """
    kept = set()
    step = 1
    while step <= session_count:
        newest = session_count - 1 - (session_count - 1) % step
        for count in (newest, newest - step):
            if count > 0 and session_count - count < 2 * (count & -count):
                kept.add(count)
        step *= 2
    return kept
