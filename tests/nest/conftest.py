"""Makes `strip_workers` importable by name: a fresh worker process gets this process's path, not its modules."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
