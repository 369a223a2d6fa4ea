"""Makes the golden jobs in a fresh process and tells the digest of every file they leave.

`python -m tests.golden.made` writes digests.json anew: run it after a change that is meant to change files, and say in
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

from click.testing import CliRunner

from nameplate.cli import commands
from nameplate.job import pools
from tests.lasting_pool import LastingPool, dismiss_all

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
DIGESTS = HERE / "digests.json"

#: The README's example, and one small job for each mount, each jig style, each setting of words.
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
    "xlsxwriter",
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


def made_anew(*, hash_seed: int) -> dict[str, dict[str, str]]:
    """Make all jobs in a process of their own; gives the digest of each file, by its job and its name in `out`."""
    with tempfile.TemporaryDirectory() as folder:
        environment = os.environ | {"PYTHONHASHSEED": str(hash_seed), "NAMEPLATE_CONFIG": folder}
        command = [sys.executable, "-m", "tests.golden.made", folder]
        done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)
        if done.returncode:
            raise RuntimeError(f"the golden jobs ended with {done.returncode}: {done.stderr[-2000:]}")
        return json.loads(done.stdout)


def digests_of(job: Path, folder: Path) -> dict[str, str]:
    """Make a job here, in a folder, by one worker, so that what many plates share is worked out once; gives the digest
    of each file."""
    out, own = folder / "out", folder / "job"
    shutil.copytree(job.parent, own)  # a run keeps its record beside the ticket
    done = CliRunner().invoke(commands.main, ["make", str(own / job.name), "-o", str(out), "--workers", "1"])
    if done.exit_code not in (0, 1):
        raise RuntimeError(f"{job.name} ended with {done.exit_code}: {done.output[-2000:]}")
    files = sorted(path for path in out.rglob("*") if path.is_file())
    return {path.relative_to(out).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()[:16] for path in files}


def print_digests(folder: Path) -> None:
    """Make all jobs by a worker that lasts from one to the next, and print their digests."""
    pools.ProcessPool = LastingPool  # type: ignore[misc]
    print(json.dumps({name_of(job): digests_of(job, folder / name_of(job)) for job in JOBS}))
    dismiss_all()


def main() -> None:
    jobs = made_anew(hash_seed=SEED)
    before = json.loads(DIGESTS.read_text(encoding="utf-8"))["jobs"] if DIGESTS.exists() else {}
    DIGESTS.write_text(json.dumps({"made_with": made_with(), "jobs": jobs}, indent=1) + "\n", encoding="utf-8")
    for name, files in jobs.items():
        old = before.get(name, {})
        changed = [file for file in sorted(files | old) if files.get(file) != old.get(file)]
        print(f"{name}: {len(files)} files, {len(changed)} changed {', '.join(changed[:8])}")


if __name__ == "__main__":
    print_digests(Path(sys.argv[1])) if sys.argv[1:] else main()
