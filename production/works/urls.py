from django.urls import path

from production.works import station_views as views

app_name = "works"

urlpatterns = [
    path("stations/<slug:process>/", views.station, name="station"),
    path("stations/<slug:process>/queue/", views.whole_queue, name="queue"),
    path("stations/<slug:process>/<slug:number>/", views.station, name="job"),
    path("stations/<slug:process>/<slug:number>/begin/", views.begin, name="begin"),
    path("stations/<slug:process>/<slug:number>/finish/", views.finish, name="finish"),
    path("stations/<slug:process>/<slug:number>/undo/", views.undo, name="undo"),
    path("stations/<slug:process>/<slug:number>/problem/", views.problem, name="problem"),
]
