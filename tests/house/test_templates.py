"""Every template parses: a tag that a library renamed is found before a person opens the page."""

from pathlib import Path

import pytest
from django.conf import settings
from django.template.loader import get_template

ROOT = Path(settings.BASE_DIR) / "templates"
NAMES = sorted(str(path.relative_to(ROOT)) for path in ROOT.rglob("*.html"))


@pytest.mark.parametrize("name", NAMES)
def test_a_template_parses(name):
    assert get_template(name).template.name == name


def test_there_are_templates_to_parse():
    assert len(NAMES) > 40
