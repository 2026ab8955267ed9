"""The part of setuptools that setup.py uses."""

from collections.abc import Mapping, Sequence

def find_packages(
    where: str = ..., exclude: Sequence[str] = ..., include: Sequence[str] = ...
) -> list[str]: ...
def setup(
    *,
    packages: Sequence[str],
    package_dir: Mapping[str, str],
    package_data: Mapping[str, Sequence[str]],
) -> None: ...
