"""Every address of the workshop."""

from django.contrib import admin
from django.urls import URLPattern, URLResolver, include, path

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("production.site.urls")),
    path("orders/", include("production.site.orders.urls")),
    path("bills/", include("production.site.bills.urls")),
    path("costs/", include("production.site.costs.urls")),
    path("items/", include("bom.items.urls")),
    path("range/", include("bom.catalogue.urls")),
    path("ratings/", include("bom.ratings.urls")),
    path("items/", include("bom.geometry.urls")),
    path("parts/", include("production.planning.urls")),
    # Kits are of a floor above stores; people pick them on the phone beside the other hand pages.
    path("stores/hand/pick/", include("production.assembly.hand_urls")),
    path("stores/", include("inventory.stores.urls")),
    path("buying/", include("inventory.buying.urls")),
    path("levels/", include("inventory.levels.urls")),
    path("week/", include("production.scheduling.urls")),
    path("shop/", include("production.shop.urls")),
    path("laser/", include("production.cutting.urls")),
    path("saw/", include("production.cutting.saw.urls")),
    path("", include("production.coating.urls")),
    path("assembly/", include("production.assembly.urls")),
    path("floor/", include("production.works.card_urls")),
    path("gate/", include("production.dispatch.urls")),
    path("", include("production.works.urls")),
    path("admin/", admin.site.urls),
]

handler403 = "production.site.views.forbidden"
handler404 = "production.site.views.not_found"
handler500 = "production.site.views.broken"
