"""Stops and rounds under /m/, the calendar beside it."""

from django.urls import path

from workshop.scheduling import public_views, views

app_name = "scheduling"
urlpatterns = [
    path("m/card/<int:pk>/stop/", views.stop, name="stop"),
    path("m/stop/<uuid:uid>/", views.visit, name="visit"),
    path("m/stop/<uuid:uid>/move/", views.move, name="move"),
    path("m/stop/<uuid:uid>/done/", views.finish, name="finish"),
    path("m/stop/<uuid:uid>/cancel/", views.cancel, name="cancel"),
    path("m/stop/<uuid:uid>/call-out/", views.charge, name="charge"),
    path("m/stop/<uuid:uid>/no-charge/", views.waive, name="waive"),
    path("m/round/<str:day>/", views.round, name="round"),
    path("calendar/", views.calendar, name="calendar"),
    path("calendar/make/", views.calendar_make, name="calendar_make"),
    path("calendar/revoke/", views.calendar_revoke, name="calendar_revoke"),
    path("calendar/<str:token>.ics", public_views.feed, name="feed"),
]
