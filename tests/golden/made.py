"""Makes the golden jobs in fresh processes and tells the digest of every file they leave.

`python tests/golden/made.py` writes digests.json anew: run it after a change that is meant to change files, and say in
the commit why they changed. What a file's bytes hang on besides the program (versions of libraries, the processor's
arithmetic) is written beside the digests; elsewhere they are not comparable.
"""

from __future__ import annotations

import hashlib
import json
import os
import platform
import shutil
import subprocess
import sys
import tempfile
import zlib
from importlib import metadata
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
DIGESTS = HERE / "digests.json"

#: The example of the README, and one small job for each mount, each jig style, each setting of words.
JOBS = (ROOT / "examples" / "orchard" / "job.toml", *sorted((HERE / "jobs").glob("*.toml")))

#: Libraries whose results reach the files.
LIBRARIES = (
    "fonttools",
    "jinja2",
    "numpy",
    "rectpack",
    "reportlab",
    "scipy",
    "shapely",
    "skia-pathops",
    "svgpathtools",
    "uharfbuzz",
)


#: The order of sets that the stored digests were made with.
SEED = 1


def name_of(job: Path) -> str:
    return job.parent.name if job.stem == "job" else job.stem


def made_with() -> dict[str, str]:
    from numpy._core._multiarray_umath import __cpu_features__ as features

    arithmetic = [name for name, there in sorted(features.items()) if there] + [os.environ.get("OPENBLAS_CORETYPE", "")]
    return {
        "python": platform.python_version(),
        "system": f"{platform.system()} {platform.machine()}",
        "zlib": zlib.ZLIB_RUNTIME_VERSION,
        "arithmetic": hashlib.sha256(" ".join(arithmetic).encode()).hexdigest()[:16],
        **{name: metadata.version(name) for name in LIBRARIES},
    }


def digests_of(job: Path, *, hash_seed: int) -> dict[str, str]:
    """Make a job in a process of its own and give the digest of each file by its name in the out folder."""
    with tempfile.TemporaryDirectory() as folder:
        out, own = Path(folder) / "out", Path(folder) / "job"
        shutil.copytree(job.parent, own)  # a run keeps its record beside the ticket
        environment = os.environ | {"PYTHONHASHSEED": str(hash_seed), "NAMEPLATE_CONFIG": folder}
        command = [sys.executable, "-m", "nameplate", "make", str(own / job.name), "-o", str(out)]
        done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)
        if done.returncode not in (0, 1):
            raise RuntimeError(f"{job.name} ended with {done.returncode}: {done.stderr[-2000:]}")
        files = sorted(path for path in out.rglob("*") if path.is_file())
        return {path.relative_to(out).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()[:16] for path in files}


def main() -> None:
    jobs = {name_of(job): digests_of(job, hash_seed=SEED) for job in JOBS}
    before = json.loads(DIGESTS.read_text(encoding="utf-8"))["jobs"] if DIGESTS.exists() else {}
    DIGESTS.write_text(json.dumps({"made_with": made_with(), "jobs": jobs}, indent=1) + "\n", encoding="utf-8")
    for name, files in jobs.items():
        old = before.get(name, {})
        changed = [file for file in sorted(files | old) if files.get(file) != old.get(file)]
        print(f"{name}: {len(files)} files, {len(changed)} changed {', '.join(changed[:8])}")


if __name__ == "__main__":
    main()
