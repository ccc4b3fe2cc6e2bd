"""How likely the true phrases are among all ways to part a song: what the phrase networks learn from, for fitting only.

The odds of composer.listening.phrases less its prices of lengths are taken as the log weight of each way to part the
bars; the loss is the negative log of the true way's share. So a network learns what its search gets wrong.
"""

from __future__ import annotations

from typing import Any

import jax
import jax.numpy as jnp

from composer.listening import phrases

NEVER = 1e9
SIZES = range(1, phrases.LONGEST + 1)
LENGTHS = jnp.array([phrases.length_cost(size, None) for size in SIZES])
TAILS = jnp.array([phrases.tail_cost(size) for size in SIZES])


def _begins(count: int) -> Any:
    """Price of a first phrase at each bar."""
    most = phrases.INTRO_MOST
    return jnp.array([phrases.INTRO_COST.get(bar, 3.0) if bar <= most else NEVER for bar in range(count)])


def unlikeliness(raw: Any, starts: Any, bars: Any) -> tuple[Any, Any]:
    """(negative log of the true phrases' share, whether the song is one the search could part so).

    Parameters
    ----------
    raw : (steps,) log odds. starts : (steps,) 1 where a phrase begins. bars : how many of the steps are bars.
    """
    raw, starts = jnp.asarray(raw), jnp.asarray(starts)
    steps = raw.shape[0]
    odds, begins = raw - phrases.USUAL_ODDS, _begins(steps + 1)

    def further(before: Any, bar: Any) -> tuple[Any, Any]:
        own = jnp.where(bar > 0, odds[jnp.minimum(bar, steps - 1)], 0.0)
        after_others = jnp.where(bar > 0, jax.nn.logsumexp(before - LENGTHS) + own, -NEVER)
        here = jnp.logaddexp(own - begins[bar], after_others)
        return jnp.concatenate([here[None], before[:-1]]), before

    _, before = jax.lax.scan(further, jnp.full(len(SIZES), -NEVER), jnp.arange(steps + 1))
    all_ways = jax.nn.logsumexp(before[bars] - TAILS)

    at = jnp.arange(steps)
    marked = jnp.where(starts > 0, at, -1)
    last, first = marked.max(), jnp.where(starts > 0, at, steps).min()
    earlier = jnp.concatenate([jnp.array([-1]), jax.lax.associative_scan(jnp.maximum, marked)[:-1]])
    whole = (starts > 0) & (earlier >= 0)
    size = jnp.where(whole, at - earlier, 1)
    true = jnp.where((starts > 0) & (at > 0), odds, 0.0).sum() - begins[first]
    true -= jnp.where(whole, LENGTHS[jnp.clip(size, 1, len(SIZES)) - 1], 0.0).sum()
    true -= TAILS[jnp.clip(bars - last, 1, len(SIZES)) - 1]
    possible = (first <= phrases.INTRO_MOST) & (bars - last <= len(SIZES)) & (size.max() <= len(SIZES))
    possible &= starts.sum() > 1
    return jnp.where(possible, all_ways - true, 0.0), possible
