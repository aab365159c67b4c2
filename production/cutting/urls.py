from django.urls import path

from production.cutting import clamp_views, file_views, offcut_views, speed_views, views

app_name = "laser"

urlpatterns = [
    path("", views.station, name="station"),
    path("batches/", views.batches, name="batches"),
    path("batches/<str:number>/", views.batch, name="batch"),
    path("clamps/", clamp_views.clamps, name="clamps"),
    path("clamps/add/", clamp_views.add, name="add_clamp"),
    path("clamps/take-off/", clamp_views.take_off, name="take_off_clamp"),
    path("offcuts/", offcut_views.offcuts, name="offcuts"),
    path("offcuts/enter/", offcut_views.enter, name="enter_offcut"),
    path("speeds/", speed_views.speeds, name="speeds"),
    path("speeds/add/", speed_views.add_speed, name="add_speed"),
    path("speeds/handling/", speed_views.add_handling, name="add_handling"),
    path("speeds/take-off/", speed_views.take_off, name="take_off_speed"),
    path("times/out/", speed_views.times_out, name="times_out"),
    path("times/bring-in/", speed_views.times_in, name="times_in"),
    path("hurry/", views.hurry, name="hurry"),
    path("batches/<str:number>/decide/", views.decide, name="decide"),
    path("batches/<str:number>/<int:sheet_number>/dxf/", views.layout_file, name="dxf"),
    path("batches/<str:number>/pdf/", file_views.batch_pdf, name="batch_pdf"),
    path("batches/<str:number>/list/", file_views.batch_list, name="batch_list"),
    path("batches/<str:number>/<int:sheet_number>/pdf/", file_views.sheet_pdf, name="pdf"),
    path("batches/<str:number>/sorting/", views.sorting, name="sorting"),
    path("batches/<str:number>/<int:sheet_number>/", views.sheet, name="sheet"),
    path("batches/<str:number>/<int:sheet_number>/begin/", views.begin, name="begin"),
    path("batches/<str:number>/<int:sheet_number>/finish/", views.finish, name="finish"),
    path("batches/<str:number>/<int:sheet_number>/undo/", views.undo, name="undo"),
    path("batches/<str:number>/<int:sheet_number>/stop/", views.stop, name="stop"),
]
