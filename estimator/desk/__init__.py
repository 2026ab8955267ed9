"""The window: shows a Study, turns gestures into changes of a Job."""
