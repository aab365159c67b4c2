"""Pages for the phone; goods-in belongs to buying and picking to assembly, and both stand here for people."""

from django.urls import include, path

from inventory.stores import hand_bin_views, hand_count_views, hand_views

urlpatterns = [
    path("", hand_views.start, name="hand"),
    path("book/", hand_views.take_along, name="hand_book"),
    path("count/", hand_count_views.count, name="hand_count"),
    path("count/<str:number>/hand-in/", hand_count_views.hand_in, name="hand_hand_in"),
    path("move/", hand_views.move, name="hand_move"),
    path("put-away/", hand_views.put_away, name="hand_put_away"),
    path("hold/", hand_views.hold, name="hand_hold"),
    path("release/", hand_views.free, name="hand_free"),
    path("bins/", hand_bin_views.bin_list, name="hand_bins"),
    path("bins/<str:code>/empty/", hand_bin_views.empty, name="hand_bin_empty"),
    path("bins/<str:code>/full/", hand_bin_views.full, name="hand_bin_full"),
    path("goods-in/", include("inventory.buying.hand_urls")),
]
