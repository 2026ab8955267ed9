"""The one thing that pyproject.toml cannot say: in the wheel, `resources/` travels inside the program's package."""

from setuptools import find_packages, setup

setup(
    packages=[*find_packages(include=["estimator", "estimator.*"]), "estimator.resources"],
    package_dir={"estimator.resources": "resources"},
    package_data={"estimator.resources": ["*.json", "*.csv", "examples/*.baydrop"]},
)
