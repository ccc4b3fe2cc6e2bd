"""Test-wide settings: Hypothesis profiles and the few warnings of libraries that are not ours to fix."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

settings.register_profile("quick", deadline=None, max_examples=50, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("ci", deadline=None, max_examples=300, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile(os.environ.get("COMPOSER_HYPOTHESIS", "quick"))
