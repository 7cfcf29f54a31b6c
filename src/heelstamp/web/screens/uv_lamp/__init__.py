"""UV lamp: a pair of frames compared, its answer, what a person says of it, clock and pictures."""

from fastapi import APIRouter

from heelstamp.web.screens.uv_lamp import clock, pictures, routes

router = APIRouter()
for _part in (routes, clock, pictures):
    router.include_router(_part.router)

__all__ = ["router"]
