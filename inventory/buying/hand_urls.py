"""Goods-in on the phone, shown under stores."""

from django.urls import path

from inventory.buying import hand_views

urlpatterns = [path("", hand_views.goods_in, name="hand_goods_in")]
