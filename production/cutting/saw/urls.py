from django.urls import path

from production.cutting.saw import views

app_name = "saw"

urlpatterns = [
    path("", views.station, name="station"),
    path("batches/", views.batches, name="batches"),
    path("gather/", views.gather, name="gather"),
    path("rules/", views.rules, name="rules"),
    path("batches/<str:number>/", views.batch, name="batch"),
    path("batches/<str:number>/<int:bar_number>/", views.bar, name="bar"),
    path("batches/<str:number>/<int:bar_number>/begin/", views.begin, name="begin"),
    path("batches/<str:number>/<int:bar_number>/finish/", views.finish, name="finish"),
    path("batches/<str:number>/<int:bar_number>/stop/", views.stop, name="stop"),
    path("batches/<str:number>/<int:bar_number>/undo/", views.undo, name="undo"),
]
