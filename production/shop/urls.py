from django.urls import path

from production.shop import views

app_name = "shop"

urlpatterns = [
    path("", views.away, name="away"),
    path("note/<slug:what>/", views.note, name="note"),
    path("end/<slug:what>/<int:row>/", views.end, name="end"),
    path("people/", views.people, name="people"),
    path("people/<int:row>/", views.people, name="worker"),
    path("skills/", views.skill, name="skill"),
    path("jigs/", views.jigs, name="jigs"),
    path("jigs/<slug:code>/", views.jigs, name="jig"),
]
