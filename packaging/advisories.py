"""Ask whether a locked package has a published security advisory, and record the answer in packaging/advisories.txt.

Exit code 0: every package was asked about and none has one; 1: one has; 3: it could not be asked, and the record says
why.
"""

import subprocess
import sys
from datetime import UTC, datetime

from bootstrap.audit import Answer, answered, recorded
from bootstrap.environment import AUDIT, ROOT, RUN, TEST, clean_variables
from bootstrap.machine import ensure, this_machine, venv_need
from bootstrap.trouble import guarded, say

RECORD = ROOT / "packaging" / "advisories.txt"


def main() -> int:
    """The worst answer of all locks."""
    if not AUDIT.is_ready():
        ensure(this_machine(), venv_need())
        AUDIT.make()
    answers: list[Answer] = []
    for lock in (RUN.lock, TEST.lock, AUDIT.lock):
        say(f"Asking about {lock.relative_to(ROOT)}")
        done = subprocess.run(
            [str(AUDIT.program("pip-audit")), *_ASK, "--requirement", str(lock)],
            env=clean_variables(),
            capture_output=True,
            text=True,
            check=False,
        )
        answers.append(answered(str(lock.relative_to(ROOT)), done.stdout, done.stderr))
    day = datetime.now(UTC).date()
    RECORD.write_text(recorded(day, answers), encoding="utf-8")
    say(RECORD.read_text(encoding="utf-8").strip())
    return max(answer.code for answer in answers)


_ASK = ("--format", "json", "--progress-spinner", "off", "--no-deps", "--disable-pip", "--desc", "off")

if __name__ == "__main__":
    sys.exit(guarded(main))
