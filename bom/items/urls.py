from django.urls import path

from bom.items import number_views, views

app_name = "items"

urlpatterns = [
    path("", views.items, name="items"),
    path("import/", views.bring_in, name="import"),
    path("out/", views.out, name="out"),
    path("import/form.xlsx", views.empty_form, name="import_form"),
    path("numbers/<str:code>/", number_views.numbers, name="numbers"),
    path("numbers/<str:code>/<int:pk>/away/", number_views.take_away, name="number_away"),
]
