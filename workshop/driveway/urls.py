from django.urls import path

from workshop.driveway import views

app_name = "driveway"
urlpatterns = [
    path("", views.day, name="day"),
    path("offline/", views.offline, name="offline"),
    path("sw.js", views.worker, name="worker"),
    path("manifest.webmanifest", views.manifest, name="manifest"),
    path("today.json", views.today, name="today"),
    path("session/", views.session, name="session"),
    path("sync/op/<uuid:uid>/", views.operation, name="operation"),
]
