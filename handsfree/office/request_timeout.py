"""Request timeouts, so that half-open connections do not block other clients."""

from __future__ import annotations

import asyncio

from uvicorn.protocols.http.h11_impl import H11Protocol

HEADERS_WITHIN_S = 10.0
"""Time allowed from connecting, or from the first byte, to the end of the headers (s)."""

MOST_WAITING = 200
"""Largest number of connections waiting for a request; a new one closes the oldest."""


class PatientProtocol(H11Protocol):
    """An HTTP/1.1 protocol that closes connections whose request does not arrive in time."""

    _late: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Starts the timeout for the first request."""
        super().connection_made(transport)
        self._await()

    def data_received(self, data: bytes) -> None:
        """Handles incoming bytes and stops the timeout once a request is complete."""
        super().data_received(data)
        if self._idle():
            self._await()
        elif self._late is not None:
            self._late.cancel()
            self._late = None

    def connection_lost(self, exc: Exception | None) -> None:
        """Stops the timeout."""
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
