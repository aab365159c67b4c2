"""Picking on the phone, shown under stores."""

from django.urls import path

from production.assembly import hand_views

app_name = "picking"

urlpatterns = [
    path("", hand_views.kits, name="kits"),
    path("<slug:number>/", hand_views.kit, name="kit"),
    path("<slug:number>/<int:line_id>/", hand_views.pick, name="pick"),
]
