"""Heelstamp: date an old electric guitar from its parts, and keep the record of how."""

import os

__version__ = "0.1.0"

# OpenCV's filters by IPP round by where an image lies in memory, so that one photograph gave two
# results from run to run; the environment is the one place where all of its threads look. It warns
# that it does as it is told.
os.environ["OPENCV_IPP"] = "disabled"
os.environ.setdefault("OPENCV_LOG_LEVEL", "ERROR")
