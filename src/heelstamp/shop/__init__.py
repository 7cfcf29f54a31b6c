"""The one place where ports meet adapters; imports are late, so that a face starts quickly."""

from heelstamp.shop.folder import create_shop, is_free, now, open_shop
from heelstamp.shop.settings import (
    CHRONOLOGIES_FOLDER,
    DATABASE_FILE,
    FILES_FOLDER,
    PARTS_FOLDER,
    SHOP_FILE,
    ShopSettings,
    is_shop,
    read_settings,
)

__all__ = [
    "CHRONOLOGIES_FOLDER",
    "DATABASE_FILE",
    "FILES_FOLDER",
    "PARTS_FOLDER",
    "SHOP_FILE",
    "ShopSettings",
    "create_shop",
    "is_free",
    "is_shop",
    "now",
    "open_shop",
    "read_settings",
]
