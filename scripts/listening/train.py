"""Trains the small networks of composer/listening (needs jax, for fitting only: ``pip install jax``).

A network: a pointwise layer, layers that add what a few taps find, a pointwise layer to log odds; see
``composer.listening.nets.run``. Loss: weighted cross entropy of each output; for phrases that of segments.py too.
Against learning by heart: columns left out and noise added at random, dropped channels, a price on large numbers, a
falling step. One thread, fixed seeds.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
from segments import unlikeliness

from composer.listening.nets import packed

PRICE, COLUMN_KEPT, CHANNEL_KEPT, NOISE = 2e-4, 0.88, 0.85, 0.2


@dataclass
class Example:
    """One track: features (steps, columns), wanted 0/1 and weights (steps, outputs); ``unit`` steps to a bar."""

    x: np.ndarray
    y: np.ndarray
    weight: np.ndarray
    unit: int
    share: float = 1.0


@dataclass(frozen=True)
class Plan:
    """``layers``: (taps, distance between them in steps, or in bars when negative) of the middle layers."""

    layers: tuple[tuple[int, int], ...]
    channels: int
    crop: int
    batch: int
    steps: int
    bias: tuple[float, ...]
    rate: float = 4e-3
    phrases: bool = False
    """Whether the first output is also judged by the phrases that are found with it."""


def begun(plan: Plan, columns: int, seed: int) -> dict[str, Any]:
    keys = jax.random.split(jax.random.PRNGKey(seed), len(plan.layers) + 2)
    c = plan.channels
    net = {"w0": jax.random.normal(keys[0], (columns, c)) * np.sqrt(1.0 / columns), "b0": jnp.zeros(c)}
    for i, (taps, _) in enumerate(plan.layers, start=1):
        net[f"w{i}"] = jax.random.normal(keys[i], (taps, c, c)) * np.sqrt(2 / (taps * c)) * 0.5
        net[f"b{i}"] = jnp.zeros(c)
    net["w"] = jax.random.normal(keys[-1], (c, len(plan.bias))) * 0.1
    net["b"] = jnp.array(plan.bias)
    return net


def forward(net: dict[str, Any], x: Any, mask: Any, plan: Plan, unit: int, key: Any) -> Any:
    hidden = jax.nn.relu(x @ net["w0"] + net["b0"]) * mask[..., None]
    for i, (taps, every) in enumerate(plan.layers, start=1):
        every = every if every > 0 else -every * unit
        reach, size = taps // 2 * every, hidden.shape[1]
        padded = jnp.pad(hidden, ((0, 0), (reach, reach), (0, 0)))
        found = sum(padded[:, t * every : t * every + size] @ net[f"w{i}"][t] for t in range(taps))
        found = jax.nn.relu(found + net[f"b{i}"])
        kept = jax.random.bernoulli(jax.random.fold_in(key, i), CHANNEL_KEPT, (found.shape[0], 1, found.shape[2]))
        hidden = (hidden + found * kept / CHANNEL_KEPT) * mask[..., None]
    return hidden @ net["w"] + net["b"]


def loss(net: dict[str, Any], batch: tuple[Any, ...], key: Any, plan: Plan, unit: int) -> Any:
    x, y, weight, mask = batch
    columns, noise, drop = jax.random.split(key, 3)
    x = x * jax.random.bernoulli(columns, COLUMN_KEPT, (x.shape[0], 1, x.shape[2]))
    z = forward(net, x + NOISE * jax.random.normal(noise, x.shape), mask, plan, unit, drop)
    wrong = ((jnp.logaddexp(0, z) - y * z) * weight).sum(axis=(0, 1)) / (1e-6 + weight.sum(axis=(0, 1)))
    total = wrong.sum() + PRICE * sum((v**2).sum() for name, v in net.items() if name[0] == "w")
    if plan.phrases:
        bars = mask.sum(axis=1).astype(int)
        each, counted = jax.vmap(unlikeliness)(z[..., 0], y[..., 0] * weight[..., 0], bars)
        total += each.sum() / (1e-6 + jnp.where(counted, bars, 0).sum())
    return total


@partial(jax.jit, static_argnums=(6, 7))
def step(net: Any, first: Any, second: Any, time: Any, batch: Any, key: Any, plan: Plan, unit: int, rate: Any) -> Any:
    """One step of Adam."""
    value, slope = jax.value_and_grad(loss)(net, batch, key, plan, unit)
    first = jax.tree.map(lambda m, g: 0.9 * m + 0.1 * g, first, slope)
    second = jax.tree.map(lambda v, g: 0.999 * v + 0.001 * g * g, second, slope)
    net = jax.tree.map(
        lambda p, m, v: p - rate * m / (1 - 0.9**time) / (jnp.sqrt(v / (1 - 0.999**time)) + 1e-8), net, first, second
    )
    return net, first, second, value


def trained(examples: list[Example], plan: Plan, seed: int) -> list[dict[str, Any]]:
    """The layers of a network fitted to the examples, as composer.listening reads them."""
    chance = np.random.default_rng(seed)
    columns, outputs = examples[0].x.shape[1], len(plan.bias)
    net = begun(plan, columns, seed)
    first = jax.tree.map(jnp.zeros_like, net)
    second = first
    key = jax.random.PRNGKey(seed + 100)
    units = np.array([e.unit for e in examples])
    share = np.array([e.share for e in examples])
    shares = {unit: share * (units == unit) for unit in sorted(set(units))}
    odds = np.array([s.sum() for s in shares.values()]) ** 0.5  # the rarer metre is heard more often than it occurs
    for time in range(1, plan.steps + 1):
        unit = int(chance.choice(list(shares), p=odds / odds.sum()))
        p = shares[unit] / shares[unit].sum()
        x = np.zeros((plan.batch, plan.crop, columns), np.float32)
        y, weight = (np.zeros((plan.batch, plan.crop, outputs), np.float32) for _ in range(2))
        mask = np.zeros((plan.batch, plan.crop), np.float32)
        for row, index in enumerate(chance.choice(len(examples), plan.batch, p=p)):
            one = examples[index]
            begin = int(chance.integers(0, max(1, len(one.x) - plan.crop + 1)))
            size = min(len(one.x) - begin, plan.crop)
            part = slice(begin, begin + size)
            x[row, :size], y[row, :size], weight[row, :size] = one.x[part], one.y[part], one.weight[part]
            mask[row, :size] = 1
        key, now = jax.random.split(key)
        rate = plan.rate * min(1.0, time / 100) * 0.5 * (1 + np.cos(np.pi * time / plan.steps))
        net, first, second, _ = step(net, first, second, time, (x, y, weight, mask), now, plan, unit, rate)
    return layers_of(net, plan)


def layers_of(net: dict[str, Any], plan: Plan) -> list[dict[str, Any]]:
    def layer(w: Any, b: Any, every: int) -> dict[str, Any]:
        w = np.asarray(w, np.float64)
        return {"w": w if w.ndim == 3 else w[None], "b": np.asarray(b, np.float64), "every": every}

    middle = [layer(net[f"w{i}"], net[f"b{i}"], every) for i, (_, every) in enumerate(plan.layers, start=1)]
    return [layer(net["w0"], net["b0"], 1), *middle, layer(net["w"], net["b"], 1)]


def plain(layers: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """For JSON."""
    return [{"every": one["every"], "w": packed(one["w"]), "b": packed(one["b"])} for one in layers]
