"""A headless Chromium for the browser tests, and the accessibility rules (axe-core, from the npm registry).

Chromium and its driver come from the system (``chromium``, ``chromium-driver``); ``COMPOSER_AXE`` names axe.min.js,
else ``.browser/node_modules/axe-core/axe.min.js`` beside the tests' folder is used
(``npm install --prefix .browser axe-core``). Outside CI a missing part skips the test and says which.
"""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

WIDTHS = (360, 768, 1440)


def need(what: str, found: object) -> None:
    """Skip outside CI, fail in CI, when a part is missing."""
    if not found:
        if os.environ.get("CI"):
            pytest.fail(f"CI needs {what}")
        pytest.skip(f"{what} is not on this machine; CI runs this test")


def axe_script() -> str:
    """The text of axe-core."""
    given = os.environ.get("COMPOSER_AXE")
    beside = Path(__file__).resolve().parents[2] / ".browser" / "node_modules" / "axe-core" / "axe.min.js"
    path = Path(given) if given else beside
    need("axe-core (npm install --prefix .browser axe-core)", path.is_file())
    return path.read_text(encoding="utf-8")


class Browser:
    """One Chromium; pages are local files."""

    def __init__(self, profile: Path) -> None:
        from selenium import webdriver
        from selenium.webdriver.chrome.options import Options
        from selenium.webdriver.chrome.service import Service

        options = Options()
        options.binary_location = shutil.which("chromium") or ""
        for flag in (
            "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
            "--disable-background-networking", "--disable-component-update", "--disable-dev-shm-usage",
            "--autoplay-policy=no-user-gesture-required", "--mute-audio", f"--user-data-dir={profile}",
        ):  # fmt: skip
            options.add_argument(flag)
        options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
        self.driver = webdriver.Chrome(options=options, service=Service(shutil.which("chromedriver") or ""))
        self.driver.set_script_timeout(60)

    def size(self, width: int, height: int = 900) -> None:
        """A screen of this width in CSS pixels."""
        metrics = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)

    def colours(self, scheme: str) -> None:
        """``light`` or ``dark``."""
        feature = {"features": [{"name": "prefers-color-scheme", "value": scheme}]}
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", feature)

    def open(self, page: Path, fragment: str = "") -> None:
        """Load a local page afresh; earlier log lines are dropped."""
        self.driver.get("about:blank")
        self.driver.get_log("browser")
        self.driver.get_log("performance")
        self.driver.get(page.as_uri() + fragment)

    def run(self, script: str, *given: Any) -> Any:
        """Run a script in the page."""
        return self.driver.execute_script(script, *given)

    def console_errors(self) -> list[str]:
        """What the page complained about since it was opened."""
        return [e["message"] for e in self.driver.get_log("browser") if e["level"] in {"SEVERE", "WARNING"}]

    def requests(self) -> list[str]:
        """Addresses the page asked for since it was opened."""
        events = [json.loads(e["message"])["message"] for e in self.driver.get_log("performance")]
        return [e["params"]["request"]["url"] for e in events if e["method"] == "Network.requestWillBeSent"]

    def axe(self) -> list[str]:
        """Accessibility findings that are serious or critical."""
        self.run(axe_script())
        found = self.driver.execute_async_script(
            "const done = arguments[0];"
            "axe.run(document, {resultTypes: ['violations']}).then(done, e => done({error: String(e)}));"
        )
        assert "error" not in found, found
        assert found["passes"] or found["inapplicable"] is not None
        return [
            f"{v['id']}: {v['help']}: {v['nodes'][0]['html'][:160]}"
            for v in found["violations"]
            if v["impact"] in {"serious", "critical"}
        ]

    def press(self, *keys: str) -> None:
        """Keys for the page."""
        from selenium.webdriver import ActionChains

        ActionChains(self.driver).send_keys(*keys).perform()

    def printed(self) -> bytes:
        """The page as the browser prints it."""
        import base64

        done = self.driver.execute_cdp_cmd(
            "Page.printToPDF", {"printBackground": True, "paperWidth": 8.27, "paperHeight": 11.69}
        )
        return base64.b64decode(done["data"])


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """One browser for a module of tests."""
    need("Chromium", shutil.which("chromium"))
    need("the Chromium driver", shutil.which("chromedriver"))
    opened = Browser(tmp_path_factory.mktemp("chromium"))
    yield opened
    opened.driver.quit()
