"""The new-system example, ready to be changed and sized."""

from __future__ import annotations

from importlib import resources

import pytest

from estimator.model.job import Job
from estimator.store.jobs import load_job


@pytest.fixture(scope="session")
def gannet() -> Job:
    """The shipped new-system job."""
    with resources.as_file(resources.files("resources") / "examples" / "gannet-quay.baydrop") as path:
        return load_job(path)
