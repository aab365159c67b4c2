from django.urls import path, re_path

from production.scheduling import views
from production.scheduling.board import board_views, extra_views, held_views
from production.scheduling.follow import follow_views
from production.scheduling.notices import feed_views
from production.scheduling.promises import promise_views
from production.scheduling.reasons import why_views
from production.scheduling.windows import window_views

app_name = "week"

urlpatterns = [
    path("", views.week, name="week"),
    re_path(r"^(?P<year>[0-9]{4})-W(?P<number>[0-9]{1,2})/$", views.numbered_week, name="numbered"),
    path("promises/", promise_views.promise_list, name="promises"),
    path("promises/<str:number>/", promise_views.promise_order, name="promise"),
    path("promises/<str:number>/ask/", promise_views.ask, name="ask_date"),
    path("promises/<str:number>/make/", promise_views.promise, name="make_promise"),
    path("follow-up/", follow_views.follow, name="follow"),
    path("follow-up/<str:process>/correct/", follow_views.correct, name="correct"),
    path("follow-up/corrections/<int:pk>/undo/", follow_views.undo_correction, name="undo_correction"),
    path("extra-hours/", extra_views.extra_hours, name="extra"),
    path("extra-hours/<int:pk>/end/", extra_views.end_hours, name="end_hours"),
    path("extra-hours/runs/<int:pk>/end/", extra_views.end_run, name="end_run"),
    path("extra-hours/terms/", extra_views.set_terms, name="set_terms"),
    path("why/", why_views.why_list, name="why"),
    path("cures/", why_views.cures_of_all, name="cures"),
    path("cures/try/", why_views.try_all, name="try_all_cures"),
    path("cures/stop/", why_views.stop_all, name="stop_all_cures"),
    path("why/<str:number>/", why_views.why_order, name="why_order"),
    path("why/<str:number>/try/", why_views.try_cures, name="try_cures"),
    path("cures/<int:pk>/take/", why_views.take_cure, name="take_cure"),
    path("calendars/", feed_views.calendar_list, name="calendars"),
    path("calendars/give/", feed_views.give, name="give_calendar"),
    path("calendars/<int:pk>/take-back/", feed_views.take_back, name="take_back_calendar"),
    path("calendar/<str:token>.ics", feed_views.calendar, name="calendar"),
    path("plans/<int:number>/print/", feed_views.print_week, name="print"),
    path("papers/<int:week_paper>/", feed_views.paper, name="paper"),
    path("papers/<int:week_paper>/week.pdf", feed_views.paper_pdf, name="paper_pdf"),
    path("board/", board_views.board, name="board"),
    path("plans/<int:number>/move/", board_views.move, name="move"),
    path("plans/<int:number>/overtime/", board_views.overtime, name="overtime"),
    path("plans/<int:number>/shift/", board_views.shift, name="shift"),
    path("plans/<int:number>/lorry/", board_views.lorry, name="lorry"),
    path("plans/<int:number>/undo/", board_views.undo, name="undo"),
    path("plans/<int:number>/redo/", board_views.redo, name="redo"),
    path("plans/<int:number>/throw-away/", board_views.throw_away, name="throw_away"),
    path("plans/<int:number>/make/", board_views.make, name="make"),
    path("held/<int:pk>/let-go/", held_views.let_go, name="let_go"),
    path("held/<int:pk>/again/", held_views.hold_again, name="hold_again"),
    path("windows/", window_views.windows, name="windows"),
    path("windows/start/", window_views.start, name="windows_start"),
    path("windows/stop/", window_views.stop, name="windows_stop"),
    path("plans/", views.plan_list, name="plans"),
    path("plans/start/", views.start, name="start"),
    path("plans/<int:number>/", views.plan, name="plan"),
    path("plans/<int:number>/progress/", views.progress, name="progress"),
    path("plans/<int:number>/cancel/", views.cancel, name="cancel"),
    path("plans/<int:number>/release/", views.release, name="release"),
    path("plans/<int:first>/compare/<int:second>/", views.compare, name="compare"),
]
