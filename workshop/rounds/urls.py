"""The list under /walk-round/, walks under /m/."""

from django.urls import path

from workshop.rounds import views

app_name = "rounds"
urlpatterns = [
    path("walk-round/", views.rows, name="rows"),
    path("walk-round/usual/", views.take, name="take"),
    path("walk-round/rows/<uuid:uid>/", views.list_row, name="list_row"),
    path("walk-round/rows/<uuid:uid>/move/", views.move, name="move"),
    path("walk-round/rows/<uuid:uid>/take-out/", views.retire, name="retire"),
    path("walk-round/rows/<uuid:uid>/put-back/", views.restore, name="restore"),
    path("m/finding/<uuid:uid>/every-time/", views.grow, name="grow"),
    path("m/card/<int:pk>/walk-round/", views.walk, name="walk"),
    path("m/card/<int:pk>/walk-round/begin/", views.begin, name="begin"),
    path("m/walk-row/<int:pk>/", views.row, name="row"),
    path("m/walk-row/<int:pk>/judge/", views.judge, name="judge"),
    path("m/walk/<uuid:uid>/rest/", views.rest, name="rest"),
    path("m/walk/<uuid:uid>/end/", views.end, name="end"),
]
