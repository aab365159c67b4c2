from django.contrib.auth.views import LogoutView
from django.urls import path

from production.site import offline, scanning, views

app_name = "site"

urlpatterns = [
    path("", views.start, name="start"),
    path("sign-in/", views.SignIn.as_view(), name="sign_in"),
    path("sign-out/", LogoutView.as_view(), name="sign_out"),
    path("help/", views.help_page, name="help"),
    path("find/", views.find, name="find"),
    path("scan/", scanning.scan, name="scan"),
    path("who/", offline.who, name="who"),
    path("worker.js", offline.worker, name="worker"),
    path("healthy/", views.healthy, name="healthy"),
]
