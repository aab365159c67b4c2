from django.urls import path

from production.site.orders import (
    change_views,
    draft_views,
    import_views,
    live_views,
    rating_views,
    variant_views,
    views,
)

app_name = "orders"

urlpatterns = [
    path("", views.book, name="book"),
    path("new/", draft_views.new, name="new"),
    path("variants/", variant_views.variants, name="variants"),
    path("variants/<slug:code>/", variant_views.variant, name="variant"),
    path("variants/<slug:code>/copy/", variant_views.copy, name="copy_variant"),
    path("fit/", rating_views.fit, name="fit"),
    path("new/ratings/", live_views.live, name="live_new"),
    path("new/cost/", live_views.live_cost, name="live_cost"),
    path("new/configure/", draft_views.configure, name="configure_new"),
    path("import/", import_views.bring_in, name="import"),
    path("import/form.xlsx", import_views.empty_form, name="import_form"),
    path("<str:number>/", views.order, name="order"),
    path("<str:number>/draft/", draft_views.draft, name="draft"),
    path("<str:number>/configure/", draft_views.configure, name="configure"),
    path("<str:number>/ratings/", live_views.live, name="live"),
    path("<str:number>/set-up/", rating_views.set_up, name="set_up"),
    path("<str:number>/vehicle/", rating_views.vehicle, name="vehicle"),
    path("<str:number>/keep/", variant_views.keep, name="keep"),
    path("<str:number>/again/", variant_views.again, name="again"),
    path("<str:number>/confirm/", views.confirm, name="confirm"),
    path("<str:number>/change/", change_views.change, name="change"),
    path("<str:number>/change/accept/", change_views.accept, name="accept_change"),
    path("<str:number>/versions/", change_views.versions, name="versions"),
    path("<str:number>/cancel/", views.cancel, name="cancel"),
    path("<str:number>/restore/", views.restore, name="restore"),
    path("<str:number>/promise/", views.promise, name="promise"),
]
