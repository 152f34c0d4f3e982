"""The routes of the page: what each takes, how much of it, and who is asked. The doors stand before all of them."""

from __future__ import annotations

import asyncio
import json
import traceback
from collections.abc import AsyncIterator, Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from netdiff.bench import photos, views, wording
from netdiff.bench.desk import Desk, Refused
from netdiff.bench.doors import Application, Code, Doors

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response

    from netdiff.tracing.answers import Outcome

STATIC: Final = Path(__file__).parent / "static"
TYPES: Final = {".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml"}

MOST_BYTES: Final = 64_000
"""Of an answer."""

LOOK: Final = 0.15
"""Seconds between looks for something to tell a device."""

BREATH: Final = 10.0
"""Seconds after which a device hears something in any case, so that it knows that the network holds."""

THUMBNAIL: Final = 960


class _TooMuch(Exception):
    pass


def application(desk: Desk, hosts: tuple[str, ...], code: Code | None, cookie: str) -> Application:
    """The whole page as an ASGI application."""
    from starlette.applications import Starlette
    from starlette.routing import Route

    routes = _Routes(desk, code, cookie)
    inside = Starlette(
        routes=[
            Route("/", routes.page),
            Route("/static/{name}", routes.static),
            Route("/enter", routes.enter, methods=["GET", "POST"]),
            Route("/confirm", routes.confirm, methods=["POST"]),
            Route("/question", routes.question),
            Route("/answer", routes.answer, methods=["POST"]),
            Route("/undo", routes.undo, methods=["POST"]),
            Route("/places", routes.places),
            Route("/complete", routes.complete),
            Route("/events", routes.events),
            Route("/photo", routes.take_photo, methods=["POST"]),
            Route("/photo/{number:int}", routes.photo),
        ]
    )
    return Doors(inside, hosts, code, cookie)


async def _body(request: Request, most: int) -> bytes:
    """The body, as long as it is not too large; no more than that is ever held."""
    pieces, size = [], 0
    async for piece in request.stream():
        size += len(piece)
        if size > most:
            raise _TooMuch
        pieces.append(piece)
    return b"".join(pieces)


class _Routes:
    def __init__(self, desk: Desk, code: Code | None, cookie: str) -> None:
        self.desk, self.code, self.cookie = desk, code, cookie
        self._files = {one.name: one for one in STATIC.iterdir() if one.suffix in TYPES}

    # --- the page

    async def page(self, request: Request) -> Response:
        return _html(views.page(self.desk))

    async def static(self, request: Request) -> Response:
        """Only names that were there when the program started: a name from outside never becomes a path."""
        from starlette.responses import Response

        one = self._files.get(request.path_params["name"])
        if one is None:
            return Response(status_code=404)
        headers = {"cache-control": "no-cache"}
        return Response(one.read_bytes(), media_type=TYPES[one.suffix], headers=headers)

    async def enter(self, request: Request) -> Response:
        from urllib.parse import parse_qs

        from starlette.responses import RedirectResponse

        if self.code is None:
            return RedirectResponse("/", status_code=303)
        if request.method == "GET":
            return _html(views.enter())
        try:
            typed = parse_qs((await _body(request, 1000)).decode("ascii", "replace")).get("code", [""])[0]
        except _TooMuch:
            typed = ""
        shown = self.code.enter(typed)
        if not shown:
            await asyncio.sleep(0.5)  # nobody types faster; a program would
            return _html(views.enter("This is not the code."), 403)
        response = RedirectResponse("/", status_code=303)
        response.set_cookie(self.cookie, shown, httponly=True, samesite="strict", path="/")
        return response

    # --- asking and answering

    async def confirm(self, request: Request) -> Response:
        return await self._sent(
            request, lambda sent: {"pass": self.desk.confirm(_strings(sent.get("ticks")), _pass(request))}
        )

    async def question(self, request: Request) -> Response:
        """The question and those after it, and all that the page shows beside them."""
        shown, asked = _pass(request), request.query_params

        def act() -> dict[str, Any]:
            with self.desk.device(shown) as session:
                questions, told = self.desk.questions(shown, asked.get("go", "")[:200])
                state = views.state(self.desk, session, _int(asked.get("since")))
                return {"questions": [views.question(session, one) for one in questions], "told": told, "state": state}

        return await self._run(act)

    async def answer(self, request: Request) -> Response:
        shown = _pass(request)

        def act(sent: Mapping[str, Any]) -> dict[str, Any]:
            outcome = self.desk.answer(shown, _token(sent), sent)
            return self._after(shown, outcome, sent)

        return await self._sent(request, act)

    async def undo(self, request: Request) -> Response:
        shown = _pass(request)

        def act(sent: Mapping[str, Any]) -> dict[str, Any]:
            count = sent.get("count")
            if not isinstance(count, int) or not 1 <= count <= 1000:
                raise wording.Unclear("how many answers are taken back?")
            return self._after(shown, self.desk.undo(shown, count), sent)

        return await self._sent(request, act)

    async def take_photo(self, request: Request) -> Response:
        shown, asked = _pass(request), request.query_params
        if request.headers.get("content-type", "") not in ("image/jpeg", "image/png", "image/webp"):
            return _json({"trouble": "only JPEG, PNG and WebP pictures are taken"}, 415)
        try:
            data = await _body(request, photos.MOST_BYTES)
        except _TooMuch:
            return _json({"trouble": f"the picture has more than {photos.MOST_BYTES // 10**6} MB"}, 413)

        def act() -> dict[str, Any]:
            outcome = self.desk.photo(
                shown, _token(asked), asked.get("of", "")[:200], asked.get("text", "")[:500], data
            )
            return self._after(shown, outcome, asked)

        return await self._run(act)

    def _after(self, shown: str, outcome: Outcome, sent: Mapping[str, Any]) -> dict[str, Any]:
        """What became of an answer, and the next question at once; the rest of the page is told by the stream."""
        reply: dict[str, Any] = {"outcome": views.outcome(outcome), "unsaved": outcome.unsaved}
        try:
            with self.desk.device(shown) as session:
                questions, told = self.desk.questions(shown, most=1)
                reply["state"] = views.short(self.desk, session, _int(sent.get("since")))
                reply["questions"] = [views.question(session, one) for one in questions]
                reply["told"] = [*outcome.changed, *told]
        except Refused as refused:  # a reading under power was the last that this pass was good for
            reply["confirm"] = str(refused)
        return reply

    async def places(self, request: Request) -> Response:
        def act() -> dict[str, Any]:
            with self.desk.alone() as session:
                return {"places": views.places(session)}

        return await self._run(act)

    async def complete(self, request: Request) -> Response:
        text = request.query_params.get("text", "")[:200]

        def act() -> dict[str, Any]:
            with self.desk.alone() as session:
                return {"words": list(session.completions(text))[:12]}

        return await self._run(act)

    # --- telling

    async def events(self, request: Request) -> Response:
        """A stream that says when something has turned: findings, another device, an editor."""
        from starlette.concurrency import run_in_threadpool
        from starlette.responses import StreamingResponse

        async def stream() -> AsyncIterator[str]:
            told, quiet = _int(request.query_params.get("since")), 0.0
            yield "retry: 1000\n\n"
            while not self.desk.closed:
                if self.desk.revision != told:
                    state = await run_in_threadpool(self._state, told)
                    told, quiet = state["revision"], 0.0
                    yield f"data: {json.dumps(state, ensure_ascii=False)}\n\n"
                elif quiet >= BREATH:
                    quiet = 0.0
                    yield "event: breath\ndata: {}\n\n"
                await asyncio.sleep(LOOK)
                quiet += LOOK

        return StreamingResponse(stream(), media_type="text/event-stream", headers={"cache-control": "no-store"})

    def _state(self, since: int) -> dict[str, Any]:
        with self.desk.alone() as session:
            return views.state(self.desk, session, since)

    async def photo(self, request: Request) -> Response:
        """A photograph that the found file names, made anew and small: no file is sent as it is."""
        from starlette.concurrency import run_in_threadpool
        from starlette.responses import Response

        data = await run_in_threadpool(self.desk.picture, request.path_params["number"], THUMBNAIL)
        if data is None:
            return Response(status_code=404)
        return Response(data, media_type="image/jpeg", headers={"cache-control": "private, max-age=3600"})

    # --- how each is run

    async def _sent(self, request: Request, act: Callable[[Mapping[str, Any]], dict[str, Any]]) -> Response:
        if request.headers.get("content-type", "").partition(";")[0] != "application/json":
            return _json({"trouble": "an answer is JSON"}, 415)
        try:
            sent = json.loads(await _body(request, MOST_BYTES))
        except _TooMuch:
            return _json({"trouble": f"an answer has at most {MOST_BYTES // 1000} kB"}, 413)
        except (ValueError, RecursionError):
            return _json({"trouble": "an answer is JSON"}, 400)
        if not isinstance(sent, dict):
            return _json({"trouble": "an answer is a record"}, 400)
        return await self._run(lambda: act(sent))

    async def _run(self, act: Callable[[], dict[str, Any]]) -> Response:
        from starlette.concurrency import run_in_threadpool

        try:
            return _json(await run_in_threadpool(act))
        except Refused as refused:
            return _json({"trouble": str(refused), "confirm": refused.confirm}, 409)
        except (wording.Unclear, photos.NoPicture) as error:
            return _json({"trouble": str(error)}, 422)
        except Exception as error:  # one bad answer must not stop those that wait behind it on the device
            traceback.print_exc()
            says = f"This is a fault of the program ({type(error).__name__}), please report it. Nothing was written."
            return _json({"trouble": says}, 500)


def _html(text: str, status: int = 200) -> Response:
    from starlette.responses import HTMLResponse

    return HTMLResponse(text, status_code=status, headers={"cache-control": "no-store"})


def _json(value: Mapping[str, Any], status: int = 200) -> Response:
    from starlette.responses import Response

    text = json.dumps(value, ensure_ascii=False)
    return Response(text, status, {"cache-control": "no-store"}, media_type="application/json")


def _pass(request: Request) -> str:
    return request.headers.get("x-pass", "")[:100]


def _token(sent: Mapping[str, Any]) -> str:
    """The name of one answer, made by the device: letters and digits."""
    token = sent.get("token")
    if not isinstance(token, str) or not token.isalnum() or not token.isascii() or not 8 <= len(token) <= 40:
        raise wording.Unclear("the answer has no name of its own")
    return token


def _strings(value: Any) -> list[str]:
    return [one for one in value if isinstance(one, str)] if isinstance(value, list) else []


def _int(value: Any) -> int:
    try:
        return int(value or 0)
    except (TypeError, ValueError):
        return 0
