from django.urls import path

from bom.catalogue import views

app_name = "range"

urlpatterns = [
    path("", views.options, name="options"),
    path("out/", views.out, name="out"),
    path("bring-in/", views.bring_in, name="bring_in"),
]
