"""The built-in tunic from its clean drawings, made once for all checks."""

import pytest

from mockup import journey
from mockup.samples import choir


@pytest.fixture(scope="session")
def tunic(tmp_path_factory):
    measures = [(view, edge, mm) for view, (edge, mm) in choir.MEASURES.items()]
    return journey.new_project(tmp_path_factory.mktemp("tunic"), choir.FRONT_SVG, choir.BACK_SVG, measures=measures)
