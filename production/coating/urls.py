from django.urls import path

from production.coating import galvanising_views, load_views, powder_views

app_name = "coating"

urlpatterns = [
    path("galvanising/", galvanising_views.galvanising, name="galvanising"),
    path("galvanising/lorries/", galvanising_views.lorries, name="lorries"),
    path("galvanising/lorries/fill/", galvanising_views.fill, name="fill"),
    path("galvanising/loads/", galvanising_views.loads, name="loads"),
    path("galvanising/loads/<str:number>/", load_views.load, name="load"),
    path("galvanising/loads/<str:number>/send/", load_views.send, name="send"),
    path("galvanising/loads/<str:number>/back/", load_views.back, name="back"),
    path("galvanising/loads/<str:number>/move/", load_views.move, name="move"),
    path("galvanising/loads/<str:number>/weigh/", load_views.weigh, name="weigh"),
    path("galvanising/loads/<str:number>/print/", load_views.print_paper, name="print"),
    path("galvanising/loads/<str:number>/certificate/", load_views.file_certificate, name="file_certificate"),
    path("galvanising/papers/<int:paper>/", load_views.paper, name="paper"),
    path("galvanising/papers/<int:paper>/paper.pdf", load_views.paper_pdf, name="paper_pdf"),
    path("galvanising/certificates/<int:filed>/", load_views.certificate, name="certificate"),
    path(
        "galvanising/certificates/<int:filed>/withdraw/",
        load_views.withdraw_certificate,
        name="withdraw_certificate",
    ),
    path("galvanising/lines/<int:line_id>/sign/", load_views.sign, name="sign"),
    path("galvanising/lines/<int:line_id>/late/", load_views.late_part, name="late_part"),
    path("galvanising/lines/<int:line_id>/make-good/", load_views.make_good, name="make_good"),
    path("powder/", powder_views.powder, name="powder"),
    path("powder/rules/", powder_views.rules, name="rules"),
    path("powder/lines/<int:line_id>/read/", powder_views.read, name="read"),
    path("powder/lines/<int:line_id>/judge/", powder_views.judge, name="judge"),
    path("powder/lines/<int:line_id>/again/", powder_views.coat_again, name="coat_again"),
    path("powder/<str:number>/begin/", powder_views.begin_powder, name="begin_powder"),
    path("powder/<str:number>/step/", powder_views.end_step, name="end_step"),
    path("powder/<str:number>/finish/", powder_views.finish_powder, name="finish_powder"),
]
