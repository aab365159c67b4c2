from django.urls import path

from production.site.costs import views

app_name = "costs"

urlpatterns = [
    path("", views.costs, name="costs"),
    path("orders/<str:number>/", views.order, name="order"),
    path("models/", views.models, name="models"),
    path("models/<str:model>/", views.model, name="model"),
    path("rates/", views.rates, name="rates"),
]
