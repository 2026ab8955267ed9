"""The window: shows a Study, turns gestures into changes of a Job.

The core is loaded before Qt, because Qt's bindings read the source of every module that is loaded after them. And
garbage is looked for after fifty thousand new objects instead of seven hundred: nearly all that loading makes stays,
and looking through it again and again took a fifth of the start. `tests/benchmarks/start.py` measures it. Once the
window is there, `app.spare_searches` makes the searches short.
"""

import gc
from importlib import import_module

_CORE_THEN_QT = (
    "estimator.study",
    "estimator.store.jobs",
    "estimator.store.pricebooks",
    "estimator.store.settings",
    "estimator.acts.document",
    "estimator.acts.quick_build",
    "PySide6.QtWidgets",
)

gc.set_threshold(50_000, *gc.get_threshold()[1:])
for _name in _CORE_THEN_QT:
    import_module(_name)
