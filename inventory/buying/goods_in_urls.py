"""Goods-in, shown under stores: included there by name, because buying stands above stores."""

from django.urls import path

from inventory.buying import goods_in_views

urlpatterns = [
    path("", goods_in_views.expected, name="goods_in"),
    path("send-back/<str:code>/", goods_in_views.send_back, name="send_back"),
    path("<int:line>/", goods_in_views.receive, name="receive"),
]
