"""What Dask's workers of the tests load first: it has the processes that they start load nothing ahead.

Few items of these tests need the libraries of a plate, whose import takes a process longer than all else here.
"""

from nameplate.pool import cluster_worker
from nameplate.pool.interface import nothing

cluster_worker.get_ready = nothing
