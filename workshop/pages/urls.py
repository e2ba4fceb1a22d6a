from django.urls import path

from workshop.pages import views

app_name = "pages"
urlpatterns = [
    path("light/", views.light, name="light"),
    path("robots.txt", views.robots, name="robots"),
    path("fault/", views.fault, name="fault"),
]
