"""How long the office waits for a request: half-open connections must not keep others out."""

from __future__ import annotations

import asyncio

from uvicorn.protocols.http.h11_impl import H11Protocol

HEADERS_WITHIN_S = 10.0
"""From the first byte, or from the connection, to the end of a request's headers."""

MOST_WAITING = 200
"""So many connections may wait for a request at a time; then the one that waited longest goes."""


class PatientProtocol(H11Protocol):
    """Closes a connection whose request has not come within the time."""

    _late: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Waits for the first request from now on."""
        super().connection_made(transport)
        self._await()

    def data_received(self, data: bytes) -> None:
        """Takes what came; a request that is there whole is waited for no more."""
        super().data_received(data)
        if self._idle():
            self._await()
        elif self._late is not None:
            self._late.cancel()
            self._late = None

    def connection_lost(self, exc: Exception | None) -> None:
        """Waits for nothing any more."""
        if self._late is not None:
            self._late.cancel()
        super().connection_lost(exc)

    def _idle(self) -> bool:
        return self.cycle is None or self.cycle.response_complete

    def _await(self) -> None:
        if self._late is None:
            self._late = self.loop.call_later(HEADERS_WITHIN_S, self._over)
            waiting = {
                each: each._late.when()
                for each in self.connections
                if isinstance(each, PatientProtocol) and each._late is not None
            }
            if len(waiting) > MOST_WAITING:
                min(waiting, key=waiting.__getitem__)._over()

    def _over(self) -> None:
        if self._late is not None:
            self._late.cancel()
            self._late = None
        if self._idle() and not self.transport.is_closing():
            self.transport.close()
