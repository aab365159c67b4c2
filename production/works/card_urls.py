from django.urls import path

from production.works import card_views as views
from production.works import problem_views, replacing_views, weld_views

app_name = "cards"

urlpatterns = [
    path("", views.where_it_stands, name="standing"),
    path("cards/", views.card_list, name="cards"),
    path("print/", problem_views.print_them, name="print"),
    path("papers/<int:paper>/", problem_views.paper, name="paper"),
    path("papers/<int:paper>/cards.pdf", problem_views.paper_pdf, name="paper_pdf"),
    path("cards/<slug:card>/", views.card, name="card"),
    path("cards/<slug:card>/start/", views.start, name="start"),
    path("cards/<slug:card>/stop/", views.stop, name="stop"),
    path("cards/<slug:card>/finish/", views.finish, name="finish"),
    path("cards/<slug:card>/split/", views.split, name="split"),
    path("cards/<slug:card>/join/", views.join, name="join"),
    path("cards/<slug:card>/send-back/", views.send_back, name="send_back"),
    path("cards/<slug:card>/problem/", problem_views.report, name="report"),
    path("orders/<slug:number>/", views.make_cards, name="make"),
    path("orders/<slug:number>/made-again/", replacing_views.made_again, name="made_again"),
    path("scan/<slug:process>/", views.scan, name="scan"),
    path("problems/", problem_views.problem_list, name="problems"),
    path("problems/<int:trouble>/", problem_views.problem, name="problem"),
    path("problems/<int:trouble>/photo/", problem_views.photo, name="photo"),
    path("problems/<int:trouble>/settle/", problem_views.settle, name="settle"),
    path("hours/", problem_views.hours_list, name="hours"),
    path("cards/<slug:card>/inspect/", weld_views.inspect, name="inspect"),
    path("inspections/", weld_views.inspections, name="inspections"),
    path("inspections/<int:inspection>/clear/", weld_views.clear, name="clear_weld"),
    path("jigs/", weld_views.sheets, name="jig_sheets"),
    path("jigs/<slug:process>/<str:code>/", weld_views.sheet, name="jig_sheet"),
]
