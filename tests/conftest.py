"""What every test shares: a shop of its own, so that nobody's folder is touched."""

import os
import tempfile

# before any kernel of a workbook test starts: it opens the demonstration in an empty shop
_SHOP = tempfile.TemporaryDirectory(prefix="etchcalc-tests-", ignore_cleanup_errors=True)
os.environ["ETCHCALC_SHOP"] = _SHOP.name
