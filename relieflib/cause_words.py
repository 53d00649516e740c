"""What the free words of a cause say: is it an exterior fire, which the code allows more for.

A load carries its own answer (`ReliefLoad.fire`), which its cause module gives. Only a sheet or a
person gives words, and these are read here and nowhere else: whole words, against the table
`fire_words`. Where another cause stands beside the fire, or a word that the table does not know,
the words decide nothing, and the stricter limit must judge.
"""

import re
from functools import cache, lru_cache

from relieflib.tables import rows

UNCLEAR = "not known: is it a fire?"
_WORDS = re.compile(r"[^\W_]+|[^\w\s-]")
_MARKS = "?!"  # of doubt


@cache
def _table():
    """Meaning -> phrases as tuples of words, the longest first."""
    found = {}
    for meaning, words in rows("fire_words")[1]:
        found.setdefault(meaning, []).append(tuple(words.split()))
    return {meaning: sorted(phrases, key=len, reverse=True) for meaning, phrases in found.items()}


@lru_cache(5000)
def fire_in(words):
    """Do the words of a cause mean an exterior fire.

    Parameters: words, str, '' or None for none given. Returns True, False, or None where the words
    do not decide. Source: the trade's usage, common practice, no source.
    >>> [fire_in(w) for w in ("Pool fire, high level", "firewater pump", "fire or closed outlet")]
    [True, False, None]
    """
    tokens = _WORDS.findall(str(words or "").casefold())
    if _without(tokens, "unclear") != tokens:
        return None
    tokens = _without_negated(_without(tokens, "not"))
    fires = [token for token in tokens if (token,) in _table()["fire"]]
    others = [t for t in tokens if t not in fires and t.isalnum() and not _harmless(t)]
    if not fires:
        return None if any("fire" in t for t in others) else False
    return None if others or any(mark in tokens for mark in _MARKS) else True


def _harmless(token):
    """True for a word that may stand beside a fire, a number, a tag or a letter of one."""
    return (token,) in _table()["beside"] or any(c.isdigit() for c in token) or len(token) == 1


def _without(tokens, meaning):
    """The words less the phrases of a meaning; a full stop stands where one stood."""
    kept, i = [], 0
    while i < len(tokens):
        found = next((p for p in _table()[meaning] if tuple(tokens[i : i + len(p)]) == p), None)
        kept.append("." if found else tokens[i])
        i += len(found) if found else 1
    return kept


def _without_negated(tokens):
    """The words less each fire that a word before it says no to: 'no fire', 'not a pool fire'."""
    for phrase in _table()["before"]:
        n = len(phrase)
        for i in range(len(tokens) - n):
            if tuple(tokens[i : i + n]) != phrase:
                continue
            j = i + n
            while j < len(tokens) and (tokens[j],) in _table()["between"]:
                j += 1
            if j < len(tokens) and (tokens[j],) in _table()["fire"]:
                return _without_negated([*tokens[:i], ".", *tokens[j + 1 :]])
    return tokens
