from django.urls import path

from bom.geometry import drawing_views, flat_length_views, views

app_name = "geometry"

urlpatterns = [
    path("drawing-rules/", views.rules, name="rules"),
    path("flat-length/", flat_length_views.flat_length, name="flat_length"),
    path("drawing-rules/usual/", views.usual_values, name="usual_values"),
    path("drawing-rules/press-brake/", views.bend_value, name="new_bend_value"),
    path("drawing-rules/press-brake/<int:row>/", views.bend_value, name="bend_value"),
    path("drawing-rules/layers/", drawing_views.layer_table, name="layers"),
    path("flat-parts/", drawing_views.flat_parts, name="flat_parts"),
    path("flat-parts/set.zip", drawing_views.set_out, name="set_out"),
    path("drawing-files/", drawing_views.readings, name="readings"),
    path("drawing-files/<int:drawing>/", drawing_views.reading, name="reading"),
    path("drawing-files/<int:drawing>/accept/", drawing_views.accept, name="accept"),
    path("drawing-files/<int:drawing>/again/", drawing_views.again, name="again"),
    path("drawing-files/<int:drawing>/stop/", drawing_views.stop, name="stop"),
    path("<str:code>/sheet/file/", drawing_views.bring_in, name="bring_in"),
    path("<str:code>/sheet/part.dxf", drawing_views.file_out, name="file_out"),
    path("<str:code>/sheet/", views.part, name="part"),
    path("<str:code>/sheet/bends/", views.bends, name="bends"),
    path("<str:code>/sheet/vents/", views.holes, name="holes"),
    path("<str:code>/sheet/judge/", views.judge, name="judge"),
    path("<str:code>/sheet/section/", views.section, name="section"),
]
