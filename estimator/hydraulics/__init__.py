"""Physics of a dispensing system: liquids, nozzles, tubes, pumps, air, tanks.

SI floats and numpy; knows no job.
"""
