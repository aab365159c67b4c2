from django.urls import path

from bom.ratings import part_views, views

app_name = "ratings"

urlpatterns = [
    path("", views.rules, name="rules"),
    path("shipped/", views.adopt, name="adopt"),
    path("parts/", part_views.parts, name="parts"),
    path("frames/<str:code>/", part_views.frame, name="frame"),
    path("parts/<str:code>/duties/", part_views.duties, name="duties"),
    path("parts/<str:code>/", part_views.part, name="part"),
    path("<str:market>/<str:subject>/", views.rule, name="rule"),
    path("<str:market>/<str:subject>/withdraw/", views.withdraw, name="withdraw"),
]
