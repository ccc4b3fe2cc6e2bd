"""Test-wide settings: Hypothesis profiles.

``quick`` and ``ci`` draw the same cases every time, so that a red run means a changed program; ``explore``
(``COMPOSER_HYPOTHESIS=explore``) draws new ones and is for looking for faults.
"""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

slow = [HealthCheck.too_slow]
settings.register_profile("quick", deadline=None, max_examples=50, derandomize=True, suppress_health_check=slow)
settings.register_profile("ci", deadline=None, max_examples=300, derandomize=True, suppress_health_check=slow)
settings.register_profile("explore", deadline=None, max_examples=300, suppress_health_check=slow)
settings.load_profile(os.environ.get("COMPOSER_HYPOTHESIS", "quick"))
