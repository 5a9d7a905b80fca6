"""Work whose answer a page waits for: little of it in the quick worker, much of it in the one that steps back."""

import asyncio
from concurrent.futures import CancelledError

from starlette.exceptions import HTTPException

_PATIENCE = 120.0  # [s]


async def worked(visit, call, *given, much=False):
    """Answer of a call; nobody else waits while it is long."""
    try:
        if not much:
            return await asyncio.wait_for(visit.work.ask(call, *given), _PATIENCE)
        job = visit.work.start(visit.number, call, *given)
        return await asyncio.wait_for(asyncio.shield(asyncio.wrap_future(job.future)), _PATIENCE)
    except (TimeoutError, CancelledError):
        raise HTTPException(
            503, "That took too long. Try it with less at once.", headers={"retry-after": "5"}
        ) from None
