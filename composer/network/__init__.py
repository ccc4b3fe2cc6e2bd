"""The time-expanded network: what can be danced when, laws only."""

from composer.network.kept import build
from composer.network.model import Arc, Network, Node

__all__ = ["Arc", "Network", "Node", "build"]
