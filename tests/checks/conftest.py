"""The built-in tunic from its clean drawings, made once for all checks."""

import pytest


@pytest.fixture(scope="session")
def tunic(tmp_path_factory, put_tunic):
    return put_tunic(tmp_path_factory.mktemp("tunic"))
