from django.urls import path

from workshop.letters import views

app_name = "letters"
urlpatterns = [
    path("", views.tray, name="tray"),
    path("send/", views.send_waiting, name="send_waiting"),
    path("<uuid:uid>/send/", views.send, name="send"),
]
