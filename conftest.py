"""Every test, notebooks included, leaves the reader's own work alone."""

import os
import tempfile

os.environ["RELIEFLIB_MY_WORK"] = tempfile.mkdtemp(prefix="relieflib-")
