from django.urls import path

from inventory.levels import views

app_name = "levels"

urlpatterns = [
    path("", views.classes, name="classes"),
    path("idle/", views.idle, name="idle"),
    path("proposals/", views.proposals, name="proposals"),
    path("proposals/<int:pk>/undo/", views.undo, name="undo"),
    path("rules/", views.rules, name="rules"),
    path("runs/start/", views.start, name="start"),
    path("runs/<int:pk>/", views.run, name="run"),
    path("runs/<int:pk>/stop/", views.stop, name="stop"),
    path("items/<str:code>/", views.item, name="item"),
    path("one-offs/<int:pk>/", views.put_back, name="put_back"),
]
