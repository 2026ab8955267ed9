"""Write the example jobs and the file schema anew after a field was added to the model.

Run as `python -m tests.renew_shipped`.

A job file holds every field, so a new one must be put into the shipped examples; it takes its default there, which a
person then looks at and replaces by what the example should say. Not for files in the field: they are upgraded by
a new format number.
"""

from __future__ import annotations

import json
from pathlib import Path

from estimator.model.job import Job
from estimator.model.upgrades import upgraded
from estimator.store.files import write_whole
from estimator.store.jobs import job_text, schema_text

RESOURCES = Path(__file__).resolve().parent.parent / "resources"


def main() -> None:
    """Renew what is shipped."""
    for path in sorted((RESOURCES / "examples").glob("*.baydrop")):
        data = upgraded(json.loads(path.read_text(encoding="utf-8")))
        job = Job.model_validate_json(json.dumps(data))
        write_whole(path, job_text(job).encode("utf-8"))
    write_whole(RESOURCES / "job.schema.json", schema_text().encode("utf-8"))


if __name__ == "__main__":
    main()
