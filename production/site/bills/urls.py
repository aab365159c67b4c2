from django.urls import path

from production.site.bills import release_views, views, whole_views

app_name = "bills"

urlpatterns = [
    path("", views.bills, name="bills"),
    path("whole/", whole_views.whole, name="whole"),
    path("bring-in/", whole_views.bring_in, name="bring_in"),
    path("difference/orders/", views.orders_difference, name="orders_difference"),
    path("orders/<str:number>/today/", views.today, name="today"),
    path("<str:code>/", views.bill, name="bill"),
    path("<str:code>/part-change/", release_views.part_change, name="part_change"),
    path("<str:code>/uses/", views.uses, name="uses"),
    path("<str:code>/difference/", views.difference, name="difference"),
    path("<str:code>/begin/", views.begin, name="begin"),
    path("<str:code>/draft/", views.draft, name="draft"),
    path("<str:code>/check/", views.check, name="check"),
    path("<str:code>/release/", release_views.release, name="release"),
    path("<str:code>/release/cost/", release_views.release_cost, name="release_cost"),
    path("<str:code>/release/models/", release_views.release_models, name="release_models"),
]
