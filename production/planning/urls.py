from django.urls import path

from production.planning import alert_views, book_views, views

app_name = "planning"

urlpatterns = [
    path("alerts/", alert_views.alerts, name="alerts"),
    path("alerts/look/", alert_views.look, name="look"),
    path("alerts/mail/", alert_views.digest, name="digest"),
    path("alerts/<int:pk>/silence/", alert_views.silence, name="silence"),
    path("alerts/<int:pk>/speak/", alert_views.speak, name="speak"),
    path("suggestions/", views.suggestions, name="suggestions"),
    path("changes/", views.changes, name="changes"),
    path("book/", book_views.book, name="book"),
    path("book/<str:code>/", book_views.book_item, name="book_item"),
    path("buy/", views.buy, name="buy"),
    path("buy/by-supplier/", views.gather, name="gather"),
    path("buy/for/<str:number>/", views.fill, name="fill"),
    path("buy/suggestions/", views.buy_suggestions, name="buy_suggestions"),
    path("<str:code>/", views.card, name="card"),
]
