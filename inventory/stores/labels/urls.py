from django.urls import path

from inventory.stores.labels import views

urlpatterns = [
    path("", views.choose, name="labels"),
    path("labels.pdf", views.pdf, name="labels_pdf"),
    path("layouts/", views.layouts, name="label_layouts"),
    path("layouts/usual/", views.usual, name="label_usual"),
    path("layouts/new/", views.new_layout, name="label_new_layout"),
    path("layouts/<int:pk>/", views.layout, name="label_layout"),
]
