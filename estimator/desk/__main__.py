"""`python -m estimator.desk [JOB]`"""

from estimator.desk.app import main

raise SystemExit(main())
