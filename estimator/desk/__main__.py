"""`python -m estimator.desk [JOB]`"""

from estimator.desk.app import run

run()
