from django.urls import path

from production.assembly import bay_views, mark_views, views

app_name = "assembly"

urlpatterns = [
    path("", views.kits, name="kits"),
    path("bays/", bay_views.bays, name="bays"),
    path("parts/", mark_views.marks, name="marks"),
    path("share-out/", views.share_out, name="share_out"),
    path("<slug:number>/", views.kit, name="kit"),
    path("<slug:number>/sheet/", views.build_sheet, name="build_sheet"),
    path("<slug:number>/numbers/", bay_views.numbers, name="numbers"),
    path("<slug:number>/numbers/excuse/", bay_views.excuse, name="excuse"),
    path("<slug:number>/numbers/<int:row>/take-back/", bay_views.take_back, name="take_back"),
    path("<slug:number>/pick/", views.pick_all, name="pick_all"),
    path("<slug:number>/pick/<int:line_id>/", views.pick, name="pick"),
    path("<slug:number>/put-back/<int:line_id>/", views.put_back, name="put_back"),
    path("<slug:number>/instead/<int:line_id>/", views.take_instead, name="take_instead"),
    path("<slug:number>/undo-swap/<int:swap_id>/", views.undo_swap, name="undo_swap"),
    path("<slug:number>/begin/", views.begin, name="begin"),
    path("<slug:number>/finish/", views.finish, name="finish"),
]
