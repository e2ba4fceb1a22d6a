"""Pages of the work sheets, under /m/."""

from django.urls import path

from workshop.worksheets import views

app_name = "worksheets"
urlpatterns = [
    path("card/<int:pk>/tightening/", views.tightening, name="tightening"),
    path("card/<int:pk>/joint/", views.joint_new, name="joint_new"),
    path("joint/<int:pk>/tick/", views.tick, name="tick"),
    path("joint/<int:pk>/value/", views.value_new, name="value_new"),
    path("joint/<int:pk>/strike/", views.joint_strike, name="joint_strike"),
    path("card/<int:pk>/parts/", views.parts, name="parts"),
    path("card/<int:pk>/parts/fit/", views.fit, name="fit"),
    path("card/<int:pk>/parts/teach-in/", views.teach_in, name="teach_in"),
    path("card/<int:pk>/parts/teach-in-all/", views.teach_in_all, name="teach_in_all"),
    path("card/<int:pk>/parts/correct/", views.part_correct, name="part_correct"),
    path("card/<int:pk>/parts/let-go/", views.let_go, name="let_go"),
    path("card/<int:pk>/parts/take-off/", views.take_off, name="take_off"),
    path("card/<int:pk>/deviation/", views.deviation_new, name="deviation_new"),
    path("card/<int:pk>/follow-ups/", views.follow_ups, name="follow_ups"),
    path("card/<int:pk>/follow-ups/close/", views.close_follow_up, name="close_follow_up"),
]
