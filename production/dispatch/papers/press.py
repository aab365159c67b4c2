"""Sets papers by templates. Loads the typesetter: imported by background work only.

A template sees `d` (the texts of one trailer, see `contents`) and nothing else: it is set in an empty folder of its
own, so it can read no file of the machine.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from types import TracebackType
from typing import Any

import typst

from bom.kernel.errors import Problem, ProblemError

PRELUDE = "#let d = json(bytes(sys.inputs.data))\n"


class Press:
    """Sets many papers by the same templates; each template is read once."""

    def __init__(self, templates: Mapping[str, str]) -> None:
        self.templates = templates

    def __enter__(self) -> Press:
        self._folder = TemporaryDirectory()
        self._compilers = {kind: self._compiler(kind, text) for kind, text in self.templates.items()}
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None
    ) -> None:
        self._folder.cleanup()

    def set(self, kind: str, data: Mapping[str, Any], *, form: str = "pdf", ppi: float = 200) -> bytes:
        """One paper as PDF, or its first page as PNG.

        Raises:
            ProblemError: the template cannot be set; says the line.
        """
        told: Any = {"sys_inputs": {"data": json.dumps(data)}, "format": form}
        told |= {"timestamp": 0} if form == "pdf" else {"ppi": ppi}
        try:
            made: Any = self._compilers[kind].compile(**told)
        except typst.TypstError as refusal:
            raise ProblemError(
                Problem(
                    f"The template cannot be set: {str(refusal).splitlines()[0]}",
                    f"paper “{kind}”",
                    "Correct it on the page of templates.",
                )
            ) from None
        return bytes(made if isinstance(made, bytes) else made[0])

    def _compiler(self, kind: str, text: str) -> Any:
        path = Path(self._folder.name) / f"{kind}.typ"
        path.write_text(PRELUDE + text, encoding="utf-8")
        return typst.Compiler(input=str(path), root=self._folder.name, ignore_system_fonts=True)
